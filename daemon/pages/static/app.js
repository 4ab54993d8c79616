// Small comforts; every page works without them.
"use strict";

let touched = false; // somebody is filling in or sending a form: do not take the page away

// A form pressed twice in a hurry is sent once here; the server counts it once anyway.
// The second click of two may meet the answer's page, where the same spot is the next pass.
document.addEventListener("click", (event) => {
  if (event.detail > 1 && event.target.closest('form[method="post"] button')) event.preventDefault();
});
for (const form of document.querySelectorAll('form[method="post"]')) {
  let sent = false;
  form.addEventListener("submit", (event) => {
    if (sent) event.preventDefault();
    sent = touched = true;
    setTimeout(() => { sent = false; }, 4000);
  });
}

// Reload when there is something newer, unless somebody is filling in a form, goes through the
// page by keys, has marked a text, or reads what a reload would fold away again.
document.addEventListener("input", () => { touched = true; });
let left = 0; // when he set out for another page, from which a reload would call him back, or for a file
addEventListener("beforeunload", () => { left = Date.now(); });
const unfolded = () => [...document.querySelectorAll("details[open]")];
const cameUnfolded = new Set(unfolded());
const reads = () => unfolded().some((part) => !cameUnfolded.has(part));
const occupied = () => touched || reads() || Date.now() - left < 60000;
const newer = document.getElementById("newer");
if (newer) newer.querySelector("a").addEventListener("click", (event) => { event.preventDefault(); location.reload(); });

if (window.EventSource && newer) {
  let stands = newer.dataset.stands || null; // null: of a form that came back; the first word tells
  const stream = new EventSource("/events");
  const heard = (event) => {
    if (stands === null) { stands = event.data; return; }
    if (event.data === stands) return;
    stands = event.data;
    // A page that shows what is new by itself says so.
    if (!document.dispatchEvent(new CustomEvent("newer", { cancelable: true }))) return;
    const busy = occupied() || !getSelection().isCollapsed || document.querySelector("main :focus, main [aria-invalid], .once, form.signin");
    if (busy) { newer.hidden = false; return; }
    location.reload();
  };
  const live = document.getElementById("live");
  if (live) stream.addEventListener("notice", (event) => {
    const told = JSON.parse(event.data), line = document.createElement("li"), at = document.createElement("time"), what = document.createElement("p");
    if (told.urgent) line.className = "urgent";
    at.textContent = told.at;
    what.className = "sentence";
    what.textContent = told.sentence;
    line.append(at, what);
    live.prepend(line);
  });
  stream.addEventListener("stands", heard);
  stream.addEventListener("changed", heard);
}

// Close a menu when another opens or the page is touched elsewhere.
document.addEventListener("click", (event) => {
  for (const menu of document.querySelectorAll("details.menu[open]")) {
    if (!menu.contains(event.target)) menu.open = false;
  }
});

// The board opens where the day's work is, not at its left edge.
const board = document.querySelector(".board");
const today = board && board.querySelector(".day.today");
if (today) board.scrollLeft = today.offsetLeft - board.querySelector(".name").offsetWidth;

// A person may have this browser rung. Browsers offer that only on pages that came over https.
const push = document.getElementById("push");
if (push && navigator.serviceWorker && window.PushManager) {
  push.hidden = false;
  push.addEventListener("submit", async (event) => {
    event.preventDefault();
    try {
      await navigator.serviceWorker.register("/static/worker.js");
      const worker = await new Promise((ready, refuse) => {
        navigator.serviceWorker.getRegistration("/static/").then((found) => {
          if (found.active) { ready(found); return; }
          const coming = found.installing || found.waiting;
          coming.addEventListener("statechange", () => {
            if (coming.state === "activated") ready(found);
            if (coming.state === "redundant") refuse(new Error("it was not kept"));
          });
        }, refuse);
      });
      const key = Uint8Array.from(atob(push.dataset.key.replaceAll("-", "+").replaceAll("_", "/")), (c) => c.charCodeAt(0));
      const is = (await worker.pushManager.subscribe({ userVisibleOnly: true, applicationServerKey: key })).toJSON();
      push.elements.endpoint.value = is.endpoint;
      push.elements.p256dh.value = is.keys.p256dh;
      push.elements.auth.value = is.keys.auth;
      push.submit();
    } catch (error) {
      push.querySelector("button").textContent = "This browser does not allow it: " + error.message;
    }
  });
}
