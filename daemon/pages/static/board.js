// Keeps the board live for weeks, and says so in large words when it is not.
"use strict";

const DEAD = 60000;    // ms without an answer after which nothing shown counts any more
const LOOK = 15000;    // between two looks where nothing was pushed
const HANG = 20000;    // an answer that takes longer is none
const print = document.querySelector("script[src*='board.js']").src;
const gone = document.getElementById("gone"), since = document.getElementById("since");
const born = Date.now();

// The last answer by this screen's clock, which may be set, and by its uptime, which may stand
// still while the screen sleeps: both must say that it is new.
let heard = Date.now(), up = performance.now();
let ahead = Number(document.getElementById("wall").dataset.now) - heard; // the yard's clock over it
let asking = false, again = up;

// As counted in Go: 9 min, 1:20 h, 2 days.
function count(figure, ms) {
  const minutes = Math.max(0, Math.floor(ms / 60000));
  let says = String(minutes), unit = "min";
  if (minutes >= 2880) { says = String(Math.floor(minutes / 1440)); unit = "days"; }
  else if (minutes >= 60) { says = Math.floor(minutes / 60) + ":" + String(minutes % 60).padStart(2, "0"); unit = "h"; }
  const number = figure.querySelector("b"), small = figure.querySelector("small");
  if (number.textContent !== says) number.textContent = says;
  if (small.textContent !== unit) small.textContent = unit;
}

function tick() {
  const live = Math.abs(Date.now() - heard) < DEAD && performance.now() - up < DEAD;
  if (gone.hidden === !live) gone.hidden = live;
  const now = Date.now() + ahead;
  let due = false;
  for (const one of document.querySelectorAll("[data-to]")) {
    const left = Number(one.dataset.to) - now;
    due = due || left <= 0;
    count(one, left);
  }
  for (const one of document.querySelectorAll("[data-since]")) count(one, now - Number(one.dataset.since));
  // What has run out means something else now: ask at once, but not in each tick.
  if (performance.now() - again > (due ? 5000 : LOOK)) ask();
  // Letters that stand for weeks burn in: all moves a little, one step each minute.
  const step = Math.floor(Date.now() / 60000) % 8;
  document.getElementById("wall").style.transform = "translate(" + [0, 3, 6, 6, 6, 3, 0, 0][step] + "px," + [0, 0, 0, 3, 6, 6, 6, 3][step] + "px)";
}

async function ask() {
  if (asking) return;
  asking = true;
  again = performance.now();
  const stop = new AbortController(), late = setTimeout(() => stop.abort(), HANG);
  try {
    const answer = await fetch(location.href, { cache: "no-store", signal: stop.signal, redirect: "error" });
    if (!answer.ok) throw new Error("status " + answer.status);
    const page = new DOMParser().parseFromString(await answer.text(), "text/html");
    const next = page.getElementById("wall"), script = page.querySelector("script[src*='board.js']");
    if (!next || !script) throw new Error("no board");
    // The program was renewed, or a day is over: begin afresh while the server answers.
    if (script.src !== print || Date.now() - born > 86400000) { location.reload(); return; }
    document.getElementById("wall").replaceWith(document.adoptNode(next));
    heard = Date.now();
    up = performance.now();
    ahead = Number(next.dataset.now) - heard;
    since.textContent = document.getElementById("clock").textContent;
    tick();
  } catch (error) {
    // Nothing was heard; the next tick tells for how long.
  } finally {
    clearTimeout(late);
    asking = false;
  }
}

if (window.EventSource) {
  let stream = null;
  const listen = () => {
    if (stream) stream.close();
    const key = new URLSearchParams(location.search).get("key");
    stream = new EventSource("/events" + (key ? "?" + new URLSearchParams({ key }) : ""));
    stream.addEventListener("changed", ask);
    stream.onerror = () => { stream.close(); setTimeout(listen, LOOK); };
  };
  listen();
}

// A wall has no hand to wake it.
async function wake() {
  try { if (navigator.wakeLock && document.visibilityState === "visible") await navigator.wakeLock.request("screen"); } catch (error) { /* not allowed here: the screen's own setting counts */ }
}
document.addEventListener("visibilitychange", () => { tick(); wake(); });
wake();
setInterval(tick, 1000);
tick();
