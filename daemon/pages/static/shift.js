// Counts down, keeps what is pressed without a line, and sends it later: in order, once.
"use strict";

(() => {
const root = document.getElementById("shift");
if (!root) return;
const page = document.documentElement;
const at = (id) => document.getElementById(id);
const made = (tag, textContent = "", className = "") => Object.assign(document.createElement(tag), { textContent, className });

// The yard's clock, not the phone's. A kept page was made long ago: it goes by what the
// phone was found to be off when it last heard from the yard.
const offBy = "fairwindow off by";
let off = Number(root.dataset.made) - Date.now();
try {
  if (page.classList.contains("kept")) off = Number(localStorage.getItem(offBy)) || 0;
  else localStorage.setItem(offBy, String(off));
} catch { /* a browser that keeps nothing: its own clock */ }
const now = () => Date.now() + off;
const twelve = root.dataset.hours === "12"; // hours as the page writes them
// When a time on the yard's clock is, and the other way round, as a form writes it.
const zoned = new Intl.DateTimeFormat("en-GB", { timeZone: root.dataset.zone, hourCycle: "h23", year: "numeric", month: "2-digit", day: "2-digit", hour: "2-digit", minute: "2-digit", second: "2-digit" });
function wall(ms) {
  const is = Object.fromEntries(zoned.formatToParts(ms).map((part) => [part.type, part.value]));
  return `${is.year}-${is.month}-${is.day}T${is.hour}:${is.minute}:${is.second}`;
}
function fromWall(text) {
  const as = Date.parse(text + "Z"), away = (ms) => Date.parse(wall(ms) + "Z") - Math.floor(ms / 1000) * 1000;
  const near = as - away(as);
  return Number.isNaN(as) ? NaN : as - away(near);
}
const hour = (ms) => new Date(ms).toLocaleTimeString(twelve ? "en-US" : "en-GB", { timeZone: root.dataset.zone, hour: twelve ? "numeric" : "2-digit", minute: "2-digit", hour12: twelve }).toLowerCase();

// Time left.
const two = (n) => String(n).padStart(2, "0");
function left(ms, opens) {
  const s = Math.floor(ms / 1000), m = Math.floor(s / 60), h = Math.floor(m / 60), d = Math.floor(h / 24);
  const is = m < 60 ? `${m}:${two(s % 60)}` : d > 0 ? `${d} d ${h % 24} h` : `${h} h ${two(m % 60)} min`;
  return opens ? `in ${is}` : `${is} left`;
}
function tick() {
  const is = now();
  for (const line of document.querySelectorAll(".count[data-until]")) {
    const ms = Number(line.dataset.until) - is, over = ms <= 0;
    line.querySelector(".left").textContent = over ? line.dataset.after : left(ms, "opens" in line.dataset);
    if (over && !line.classList.contains("over") && line.classList.contains("shuts")) shut(line);
    line.classList.toggle("over", over);
  }
  const air = at("air"), old = air && air.querySelector(".old"), silent = is - Number(root.dataset.made) > counts;
  if (silent) unheard();
  if (old && old.hidden && (silent || Number(air.dataset.stale) <= is)) {
    if (silent) old.lastChild.textContent = `Unknown: ${silence()}. Measure, and go by the card.`;
    old.hidden = false;
    air.querySelector(".fresh").hidden = true;
  }
}
// What stood here minutes ago says nothing of now: a phone comes out of a pocket after hours,
// and where there is no line it has nothing newer to show.
const counts = 5 * 60000;
const silence = () => (at("newer").hidden ? "nothing was heard from the yard" : "this page shows nothing") + ` since ${hour(Number(root.dataset.made))}`;
function unheard() {
  for (const one of document.querySelectorAll(".foretold")) one.hidden = true;
  for (const tag of document.querySelectorAll(".st.open")) reword(tag, "unknown", "st unconfirmed");
  const todo = root.querySelector(".at .do"), form = root.querySelector(".act form.press.shift[data-state=idle]");
  if (todo && form && form.querySelector("button[value=pass_done]")) reword(todo, `Do not start by this page: ${silence()}.`);
}
// reword says something else from now on; what a waiting press made of it stands before that.
function reword(line, words, looks = line.className) {
  if (line.dataset.was === words) return;
  if (line.textContent === (line.dataset.was ?? line.textContent)) [line.textContent, line.className] = [words, looks];
  [line.dataset.was, line.dataset.drawn] = [words, looks];
}
// A window whose end has passed is not called open by a page that was made before.
function shut(line) {
  const stage = line.closest(".at, details"), tag = stage && stage.querySelector(".st"), todo = stage && stage.querySelector(".do");
  if (line.closest(".pots") || !tag || tag.classList.contains("running")) return;
  reword(tag, "shut", "st unconfirmed");
  if (todo) reword(todo, "The window is over: ask the scheduler.");
}

// What waits to be sent, in the browser's own store.
const store = new Promise((yes, no) => {
  const open = indexedDB.open("fairwindow", 1);
  open.onupgradeneeded = () => open.result.createObjectStore("presses", { keyPath: "n", autoIncrement: true });
  open.onsuccess = () => yes(open.result);
  open.onerror = () => no(open.error);
});
async function held(mode, act) {
  const db = await store, deal = db.transaction("presses", mode, { durability: "strict" }), asked = act(deal.objectStore("presses"));
  return new Promise((yes, no) => { deal.oncomplete = () => yes(asked.result); deal.onabort = deal.onerror = () => no(deal.error); });
}
const all = () => held("readonly", (s) => s.getAll());

// Several pages of one browser send in turn; where there is no lock, the yard still counts once.
const inTurn = (act) => (navigator.locks ? navigator.locks.request("fairwindow send", act) : act());

// What the yard refused holds back what came after it on the same boat, and nothing else.
function sendable(waiting) {
  const stuck = new Set();
  for (const one of waiting) {
    const boat = one.kind === "reading" ? "" : one.stage.split("|")[0];
    if (one.fault) stuck.add(boat);
    else if (!boat || !stuck.has(boat)) return one;
  }
  return null;
}
let sending = false;
async function send() { // true: what was sent is being shown
  if (sending) return true;
  sending = true;
  let said = "";
  try {
    await inTurn(async () => {
      for (let next = sendable(await all()); next; next = sendable(await all())) {
        const answer = await fetch(next.url, {
          method: "POST", body: new URLSearchParams(next.fields), redirect: "manual", cache: "no-store",
          headers: { Accept: "application/json" }, signal: AbortSignal.timeout(15000),
        });
        if (answer.type === "opaqueredirect" || answer.status === 401) { at("signin").hidden = false; return; }
        if (answer.status === 429 || answer.status >= 500) return; // the yard's trouble: later
        at("signin").hidden = true;
        const told = await answer.json().catch(() => ({}));
        if (answer.ok) {
          await held("readwrite", (s) => s.delete(next.n));
          said = told.said || next.kind;
          continue;
        }
        next.fault = told.fault || "You may not press this here. Ask who may.";
        await held("readwrite", (s) => s.put(next));
      }
    });
  } catch { /* no line: it waits */ } finally {
    sending = false;
  }
  await draw();
  if (said) location.assign("/shift?" + new URLSearchParams({ said, ...(root.dataset.crew ? { crew: root.dataset.crew } : {}) }));
  return said !== "";
}

// A press is kept first, then sent: a line that breaks between the two loses nothing.
const fresh = () => [...crypto.getRandomValues(new Uint8Array(16))].map((b) => b.toString(16).padStart(2, "0")).join("");
// A kept page was made before somebody typed his name.
const whoseName = "fairwindow name";
try {
  for (const field of document.querySelectorAll("#shift input[name=by]")) field.value ||= localStorage.getItem(whoseName) || "";
} catch { /* he types it */ }
let lately = { what: "", when: 0 };
async function keep(form, button) {
  const fields = new FormData(form), kind = button.name === "kind" ? button.value : "reading";
  if (button.name) fields.set(button.name, button.value);
  const what = [...["boat", "area", "stage", "pass"].map((f) => fields.get(f)), kind].join("|");
  if (lately.what === what && Date.now() - lately.when < 3000) return; // a hand that pressed twice
  const ago = Number(fields.get("ago")) || 0;
  if (fields.get("ago") !== "at") fields.set("happened_ms", String(Math.round(now() - ago * 60000)));
  const [fault, where] = lacks(form, fields, kind, button);
  if (fault) { complain(form, fault, where); return; }
  lately = { what, when: Date.now() };
  try { localStorage.setItem(whoseName, fields.get("by") || ""); } catch { /* he types it again */ }
  complain(form, "");
  fields.set("once", fresh());
  const item = {
    url: button.formAction && button.hasAttribute("formaction") ? new URL(button.formAction).pathname : new URL(form.action).pathname,
    fields: [...fields].map(([k, v]) => [k, String(v)]), kind, label: button.textContent.trim(), what: form.dataset.what || fields.get("place") || "",
    stage: [fields.get("boat"), fields.get("area"), fields.get("stage")].join("|"), at: Number(fields.get("happened_ms")) || fromWall(fields.get("at")) || now(), fault: "",
  };
  try {
    await held("readwrite", (s) => s.add(item));
  } catch {
    form.submit(); // a browser that keeps nothing sends as it always did
    return;
  }
  for (const open of form.querySelectorAll(".more details[open]")) open.open = false;
  await draw();
  send();
}

// lacks is what the yard would refuse for certain, and what it stands beside: better said
// before it waits an hour.
function lacks(form, fields, kind, button) {
  const by = form.elements.by, here = button.closest(".ask") ? button : form.firstElementChild;
  if (by && !(fields.get("by") || "").trim()) return ["Write who presses: the record names a person.", by];
  if (kind === "reading" && /^[\s\d.,+−-]+$/.test(fields.get("surface") || "")) return [`Write the unit too, such as ${form.elements.surface.placeholder}.`, form.elements.surface];
  const note = (fields.get("note_" + kind) || "").trim(), reason = fields.get("reason_" + kind) || "";
  if (["cant", "rejected", "override"].includes(kind) && !note && !reason) return ["Choose a reason or write it: the record needs it.", here];
  if (kind === "stopped_here" && !(Number(fields.get("more_" + kind)) < Number(form.dataset.of))) return [`Write how many whole passes are done, of ${form.dataset.of}: if it is all of them, press finished.`, here];
  if (kind !== "started" && kind !== "override") return ["", null];
  const checks = form.querySelectorAll(".check");
  for (let i = 0; fields.has("point_" + i); i++) {
    const point = fields.get("point_" + i), is = fields.get("check_" + i), beside = checks[i].lastElementChild;
    if (!is) return [`${point}: go or no-go?`, beside];
    if (is === "no" && !(fields.get("why_" + i) || "").trim()) return [`${point}: write what is not as it should be.`, beside];
    if (is === "no" && kind === "started") return [`${point} is no-go: put it right, or press can’t.`, beside];
  }
  return ["", null];
}
// complain says what is wrong where it is wrong: a form is longer than a phone's screen.
function complain(form, words, where) {
  const line = form.querySelector("p.fault.own") || made("p", "", "fault own");
  line.setAttribute("role", "alert");
  Object.assign(line, { hidden: !words, textContent: words });
  if (!words) return;
  where[where.matches("button") ? "before" : "after"](line);
  line.scrollIntoView({ block: "center" });
}

// draw shows what waits, and each stage as it will stand when that was sent.
async function draw() {
  const waiting = await all().catch(() => []);
  const box = at("queue"), list = box.querySelector("ol");
  box.hidden = waiting.length === 0 && at("signin").hidden;
  at("waiting").hidden = waiting.length === 0;
  at("waiting").textContent = (waiting.some((one) => one.fault) ? "Refused: change it or drop it. " : "") + `Waits to be sent (${waiting.length})`;
  list.replaceChildren(...waiting.map(line));
  for (const form of document.querySelectorAll("form.press.shift")) fold(form, waiting.filter((one) => one.stage === stageOf(form)));
}
const stageOf = (form) => ["boat", "area", "stage"].map((f) => form.elements[f].value).join("|");
function line(one) {
  const item = made("li");
  item.append(made("p", `${one.label}: ${one.what}, ${hour(one.at)}`));
  if (one.fault) item.append(made("p", one.fault, "fault"));
  if (one.fault) item.lastElementChild.setAttribute("role", "alert");
  item.append(button("Change", () => change(item, one)), button("Drop", async () => { await held("readwrite", (s) => s.delete(one.n)); await draw(); send(); }));
  return item;
}
const button = (words, onclick) => Object.assign(made("button", words), { type: "button", onclick });
// change lets a person mend what was refused: when it happened, and his words.
function change(item, one) {
  if (item.querySelector("label")) return;
  const fields = new Map(one.fields), note = "note_" + one.kind, was = wall(one.at).slice(0, 16);
  const when = field("When it happened", was), words = fields.has(note) ? field("In your words", fields.get(note)) : null;
  Object.assign(when.firstElementChild, { type: "datetime-local", value: was });
  const done = button("Send it so", async () => {
    const is = when.firstElementChild.value;
    if (is !== was) one.at = fromWall(is) || one.at;
    fields.set("happened_ms", String(Math.round(one.at)));
    if (fields.get("ago") === "at") fields.set("ago", "0");
    if (words) fields.set(note, words.firstElementChild.value);
    Object.assign(one, { fields: [...fields], fault: "" });
    await held("readwrite", (s) => s.put(one));
    await draw();
    send();
  });
  item.append(when, ...(words ? [words] : []), done);
}
function field(words, value) {
  const label = made("label", words);
  label.append(Object.assign(made("input"), { value }));
  return label;
}
// fold plays what waits on a stage, so that the next button fits without a line too.
const called = { idle: "not started" };
function fold(form, waiting) {
  const own = waiting.filter((one) => !one.fault), of = Number(form.dataset.of), pots = [];
  let state = form.dataset.state, passes = Number(form.dataset.done), laid = 0;
  for (const one of own) {
    if (one.kind === "started" || one.kind === "override" || one.kind === "resumed") state = "running";
    if (one.kind === "paused") state = "paused";
    if (one.kind === "finished") state = "done";
    if (one.kind === "stopped_here") state = Number(new Map(one.fields).get("more_stopped_here")) > 0 ? "done" : "idle";
    if (one.kind === "rejected") state = "idle";
    if (one.kind === "pass_done") { laid = one.at; if (++passes >= of) state = "done"; }
    if (one.kind === "mixed") pots.push(one);
  }
  for (const part of form.querySelectorAll("[data-in]")) part.hidden = !part.dataset.in.split(" ").includes(state);
  const pass = form.querySelector("button[value=pass_done]");
  if (pass) pass.textContent = `Pass ${Math.min(passes + 1, of)} of ${of} done`;
  form.elements.pass.value = String(passes + 1);
  const stage = form.closest("details") || root.querySelector("section.at");
  if (!stage) return;
  const tag = stage.querySelector(".st"), todo = stage.querySelector(".do");
  for (const old of stage.querySelectorAll(".count.own, .pot.own")) old.remove();
  for (const line of [tag, todo]) {
    if (!line) continue;
    line.dataset.was ??= line.textContent;
    line.dataset.drawn ??= line.className;
    [line.textContent, line.className] = [line.dataset.was, line.dataset.drawn];
  }
  if (own.length > 0) {
    if (tag) { tag.textContent = `${called[state] || state}, waits to be sent`; tag.className = "st " + (state === "running" ? "running" : "unconfirmed"); }
    if (todo) todo.textContent = doNext(form, state, passes, of, laid);
  }
  // What counts between two passes begins anew with the one that only this phone knows.
  if (laid) for (const line of stage.querySelectorAll(".count[data-flash]")) line.remove();
  const least = Number(form.dataset.flash), most = Number(form.dataset.flashmost), before = todo || stage.querySelector(".pots");
  if (laid && state === "running" && least > 0) before.before(counting("Flash-off until", laid + least, "is over", false));
  if (laid && state === "running" && most > 0) before.before(counting("Next pass at the latest", laid + most, "is past: ask before you go on", true));
  const shown = stage.querySelector(".pots");
  if (!shown) return;
  for (const one of pots) shown.append(pot(one, Number(form.dataset.stands), Number(form.dataset.lasts)));
  shown.hidden = !shown.firstElementChild;
}
function doNext(form, state, passes, of, laid) {
  const free = laid + Number(form.dataset.flash);
  if (state === "done") return "Done, by what this phone has. It is sent once there is a line.";
  if (state === "paused") return "Paused. Press resumed when you go on.";
  if (state !== "running") return "It is sent once there is a line.";
  if (!form.querySelector("button[value=pass_done]")) return "Press finished when it is done.";
  return laid && free > now() ? `Let it flash off until ${hour(free)}, then put on pass ${passes + 1}.` : `Put on pass ${passes + 1} of ${of}, then press done.`;
}
function counting(label, ms, after, shuts) {
  const p = made("p", label + " ", "count own" + (shuts ? " shuts" : ""));
  Object.assign(p.dataset, { until: ms, after });
  p.append(made("b", hour(ms)), " ", made("span", "", "left"));
  return p;
}
function pot(one, stands, lasts) {
  const box = made("div", "", "pot own");
  box.append(made("h3", `Pot mixed ${hour(one.at)}`));
  if (stands > 0) box.append(counting("Not before", one.at + stands, "has stood", false));
  if (stands > 0) box.lastElementChild.dataset.opens = "";
  if (lasts > 0) box.append(counting("Use by", one.at + lasts, "over: use no more of it", true));
  return box;
}

// Whether the yard hears.
let live = !page.classList.contains("kept");
function hear(is) {
  if (is && !live && !occupied() && at("signin").hidden) { location.reload(); return; }
  if (is && !live) at("newer").hidden = false;
  live = is;
  page.classList.toggle("kept", !is || !at("signin").hidden);
  at("notlive").hidden = is;
}
// What is measured and what stands at hand is asked for again each minute: a page left open
// in the booth must not go on showing the margin of an hour ago. A form is left as it is.
const lookEvery = 60000;
let looked = Date.now();
async function look() {
  looked = Date.now();
  const from = new URL(location.href);
  from.pathname = "/shift"; // and not a form's address, of one that came back
  from.searchParams.delete("said");
  const answer = await fetch(from, { cache: "no-store", redirect: "manual", signal: AbortSignal.timeout(15000) });
  if (answer.type === "opaqueredirect" || answer.status === 401) {
    at("signin").hidden = false;
    page.classList.add("kept");
    return draw();
  }
  if (!answer.ok) return;
  at("signin").hidden = true;
  const next = new DOMParser().parseFromString(await answer.text(), "text/html"), fresh = next.getElementById("shift");
  if (!fresh) return;
  const form = document.querySelector(".act form.press.shift"), newer = next.querySelector(".act form.press.shift");
  const same = (a, b) => (a && b ? stageOf(a) === stageOf(b) && a.dataset.state === b.dataset.state && a.dataset.done === b.dataset.done : a === b);
  if (!same(form, newer)) {
    if (occupied()) at("newer").hidden = false;
    else location.reload();
    return;
  }
  root.dataset.made = fresh.dataset.made;
  off = Number(fresh.dataset.made) - Date.now();
  try { localStorage.setItem(offBy, String(off)); } catch { /* as above */ }
  const swap = (selector) => {
    const old = document.querySelectorAll(selector), is = next.querySelectorAll(selector);
    if (old.length === is.length) old.forEach((one, i) => { if (!one.contains(document.activeElement)) one.replaceWith(is[i]); });
  };
  for (const part of [".top .now", "section.at", "#air .fresh", "#air .old", "section[aria-labelledby=mix]", ".check small"]) swap(part);
  const coming = (all) => [...all.querySelectorAll(".next form.press.shift")].map(stageOf).join();
  if (coming(document) === coming(next)) swap(".next .st");
  if (form) for (const name of ["stands", "lasts"]) form.dataset[name] = newer.dataset[name];
  if (at("air")) at("air").dataset.stale = next.getElementById("air")?.dataset.stale || "0";
  await draw();
  tick();
}
async function ask() {
  try {
    const answer = await fetch("/healthz", { cache: "no-store", signal: AbortSignal.timeout(6000) });
    if (!answer.ok) throw new Error("it is there and does not answer");
  } catch { hear(false); return; }
  if (await send()) return;
  hear(true);
  if (Date.now() - looked >= lookEvery) await look().catch(() => {});
}

document.addEventListener("click", (event) => {
  const b = event.target.closest("form.press.shift button:not([type=button]), form.measure button");
  if (!b || b.disabled || event.defaultPrevented) return;
  event.preventDefault();
  keep(b.form, b);
});
addEventListener("offline", () => hear(false));
addEventListener("online", ask);
document.addEventListener("visibilitychange", () => { if (!document.hidden) { tick(); looked = 0; ask(); } }); // out of the pocket
setInterval(tick, 1000);
setInterval(ask, 15000);
tick();
draw().then(() => {
  if (!live) { at("notlive").hidden = false; ask(); } else send();
});

// The page is kept for when there is no line. Browsers offer that only over https, or at home.
if (navigator.serviceWorker && live) {
  navigator.serviceWorker.register("/worker.js").then(() => navigator.serviceWorker.ready).then((is) => {
    const drawn = [...document.querySelectorAll("link[rel=stylesheet], link[rel=icon], script[src]")].map((e) => e.href || e.src);
    const own = new URL(location.href);
    own.searchParams.delete("said");
    is.active.postMessage({ keep: [own.href, ...drawn] });
  }, () => { /* it works with a line only */ });
}
})();
