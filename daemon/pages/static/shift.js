// Counts down, keeps what is pressed without a line, and sends it later: in order, once.
"use strict";

(() => {
const root = document.getElementById("shift");
if (!root) return;
const page = document.documentElement;
const at = (id) => document.getElementById(id);

// The yard's clock, not the phone's. A kept page was made long ago: it goes by what the
// phone was found to be off when it last heard from the yard.
const offBy = "fairwindow off by";
let off = Number(root.dataset.made) - Date.now();
try {
  if (page.classList.contains("kept")) off = Number(localStorage.getItem(offBy)) || 0;
  else localStorage.setItem(offBy, String(off));
} catch { /* a browser that keeps nothing: its own clock */ }
const now = () => Date.now() + off;
// As the page writes its hours: the yard's, of 24 or of 12.
const twelve = root.dataset.hours === "12";
const hour = (ms) => new Date(ms).toLocaleTimeString(twelve ? "en-US" : "en-GB", { timeZone: root.dataset.zone, hour: twelve ? "numeric" : "2-digit", minute: "2-digit", hour12: twelve }).toLowerCase();

// Time left.
const two = (n) => String(n).padStart(2, "0");
function left(ms, opens) {
  const s = Math.floor(ms / 1000), m = Math.floor(s / 60), h = Math.floor(m / 60), d = Math.floor(h / 24);
  let is = `${h} h ${two(m % 60)} min`;
  if (m < 60) is = `${m}:${two(s % 60)}`;
  else if (d > 0) is = `${d} d ${h % 24} h`;
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
  const air = at("air"), old = air && air.querySelector(".old");
  if (old && Number(air.dataset.stale) <= is && old.hidden) {
    old.hidden = false;
    air.querySelector(".fresh").hidden = true;
  }
}
// A window whose end has passed is not called open by a page that was made before.
function shut(line) {
  const stage = line.closest(".at, details"), tag = stage && stage.querySelector(".st"), todo = stage && stage.querySelector(".do");
  if (!line.closest(".pots") && tag && !tag.classList.contains("running")) { tag.className = "st unconfirmed"; tag.textContent = "shut"; }
  if (!line.closest(".pots") && todo && tag && !tag.classList.contains("running")) todo.textContent = "The window is over: ask the scheduler.";
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

let sending = false;
async function send() { // true: what was sent is being shown
  if (sending) return true;
  sending = true;
  let said = "";
  try {
    await inTurn(async () => {
      for (let next = (await all())[0]; next && !next.fault; next = (await all())[0]) {
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
  const fault = lacks(form, fields, kind);
  if (fault) { complain(form, fault); return; }
  lately = { what, when: Date.now() };
  try { localStorage.setItem(whoseName, fields.get("by") || ""); } catch { /* he types it again */ }
  complain(form, "");
  fields.set("once", fresh());
  const item = {
    url: button.formAction && button.hasAttribute("formaction") ? new URL(button.formAction).pathname : new URL(form.action).pathname,
    fields: [...fields].map(([k, v]) => [k, String(v)]), kind, label: button.textContent.trim(), what: form.dataset.what || fields.get("place") || "",
    stage: [fields.get("boat"), fields.get("area"), fields.get("stage")].join("|"), at: Number(fields.get("happened_ms")) || now(), fault: "",
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

// lacks is what the yard would refuse for certain: better said before it waits an hour.
function lacks(form, fields, kind) {
  if (!(fields.get("by") || "").trim() && form.elements.by) return "Write who presses: the record names a person.";
  if (kind === "reading" && /^[\s\d.,+−-]+$/.test(fields.get("surface") || "")) return `Write the unit too, such as ${form.elements.surface.placeholder}.`;
  const note = (fields.get("note_" + kind) || "").trim(), reason = fields.get("reason_" + kind) || "";
  if (["cant", "rejected", "override"].includes(kind) && !note && !reason) return "Choose a reason or write it: the record needs it.";
  if (kind !== "started" && kind !== "override") return "";
  for (let i = 0; fields.has("point_" + i); i++) {
    const point = fields.get("point_" + i), is = fields.get("check_" + i);
    if (!is) return `${point}: go or no-go?`;
    if (is === "no" && !(fields.get("why_" + i) || "").trim()) return `${point}: write what is not as it should be.`;
    if (is === "no" && kind === "started") return `${point} is no-go: put it right, or press can’t.`;
  }
  return "";
}
function complain(form, words) {
  let line = form.querySelector("p.fault.own");
  if (!line) {
    line = document.createElement("p");
    line.className = "fault own";
    line.setAttribute("role", "alert");
    form.prepend(line);
  }
  line.hidden = !words;
  line.textContent = words;
  if (words) line.scrollIntoView({ block: "center" });
}

// draw shows what waits, and each stage as it will stand when that was sent.
async function draw() {
  const waiting = await all().catch(() => []);
  const box = at("queue"), list = box.querySelector("ol");
  box.hidden = waiting.length === 0;
  at("waiting").textContent = `Waits to be sent (${waiting.length})`;
  list.replaceChildren(...waiting.map(line));
  for (const form of document.querySelectorAll("form.press.shift")) fold(form, waiting.filter((one) => one.stage === stageOf(form)));
}
const stageOf = (form) => ["boat", "area", "stage"].map((f) => form.elements[f].value).join("|");

function line(one) {
  const item = document.createElement("li"), words = document.createElement("p");
  words.textContent = `${one.label}: ${one.what}, ${hour(one.at)}`;
  item.append(words);
  if (one.fault) {
    const fault = document.createElement("p");
    fault.className = "fault";
    fault.setAttribute("role", "alert");
    fault.textContent = one.fault;
    item.append(fault);
  }
  item.append(button("Change", () => change(item, one)), button("Drop", async () => { await held("readwrite", (s) => s.delete(one.n)); await draw(); send(); }));
  return item;
}
function button(words, act) {
  const b = document.createElement("button");
  b.type = "button";
  b.textContent = words;
  b.addEventListener("click", act);
  return b;
}

// change lets a person mend what was refused: when it happened, and his words.
function change(item, one) {
  if (item.querySelector("label")) return;
  const fields = new Map(one.fields), note = "note_" + one.kind;
  const minutes = field("Minutes later, or fewer with −", "0"), words = fields.has(note) ? field("In your words", fields.get(note)) : null;
  minutes.firstElementChild.inputMode = "numeric";
  const done = button("Send it so", async () => {
    const shift = Number(minutes.firstElementChild.value.replace("−", "-")) || 0;
    one.at += shift * 60000;
    fields.set("happened_ms", String(Math.round(one.at)));
    if (fields.get("ago") === "at") fields.set("ago", "0");
    if (words) fields.set(note, words.firstElementChild.value);
    one.fields = [...fields];
    one.fault = "";
    await held("readwrite", (s) => s.put(one));
    await draw();
    send();
  });
  item.append(minutes, ...(words ? [words] : []), done);
}
function field(words, value) {
  const label = document.createElement("label"), input = document.createElement("input");
  label.textContent = words;
  input.value = value;
  label.append(input);
  return label;
}

// fold plays what waits on a stage, so that the next button fits without a line too.
function fold(form, waiting) {
  let state = form.dataset.state, passes = Number(form.dataset.done);
  const of = Number(form.dataset.of), pots = [];
  for (const one of waiting) {
    if (one.fault) continue;
    if (one.kind === "started" || one.kind === "override" || one.kind === "resumed") state = "running";
    if (one.kind === "paused") state = "paused";
    if (one.kind === "finished" || one.kind === "stopped_here") state = "done";
    if (one.kind === "rejected") state = "idle";
    if (one.kind === "pass_done" && ++passes >= of) state = "done";
    if (one.kind === "mixed") pots.push(one);
  }
  for (const part of form.querySelectorAll("[data-in]")) part.hidden = !part.dataset.in.split(" ").includes(state);
  const pass = form.querySelector("button[value=pass_done]");
  if (pass) pass.textContent = `Pass ${Math.min(passes + 1, of)} of ${of} done`;
  form.elements.pass.value = String(passes + 1);
  const stage = form.closest("details") || root.querySelector(".at"), tag = stage && stage.querySelector(".st");
  if (tag && waiting.length > 0) { tag.textContent = `${state}, waits to be sent`; tag.className = "st " + (state === "running" ? "running" : "unconfirmed"); }
  const shown = stage && stage.querySelector(".pots");
  if (!shown) return;
  for (const old of shown.querySelectorAll(".pot.own")) old.remove();
  for (const one of pots) shown.append(pot(one, Number(form.dataset.stands), Number(form.dataset.lasts)));
  shown.hidden = !shown.firstElementChild;
}
function pot(one, stands, lasts) {
  const box = document.createElement("div"), head = document.createElement("h3");
  box.className = "pot own";
  head.textContent = `Pot mixed ${hour(one.at)}`;
  box.append(head);
  const add = (label, ms, after, shuts) => {
    const p = document.createElement("p"), when = document.createElement("b"), span = document.createElement("span");
    p.className = "count" + (shuts ? " shuts" : "");
    p.dataset.until = String(one.at + ms);
    p.dataset.after = after;
    if (!shuts) p.dataset.opens = "";
    when.textContent = hour(one.at + ms);
    span.className = "left";
    p.append(label + " ", when, " ", span);
    box.append(p);
  };
  if (stands > 0) add("Not before", stands, "has stood", false);
  if (lasts > 0) add("Use by", lasts, "over: use no more of it", true);
  return box;
}

// Whether the yard hears.
let live = !page.classList.contains("kept");
let touched = false; // somebody is filling in a form: the page is not taken away
document.addEventListener("input", () => { touched = true; });
function hear(is) {
  if (is && !live && !touched && at("signin").hidden) { location.reload(); return; }
  if (is && !live) at("newer").hidden = false;
  live = is;
  page.classList.toggle("kept", !is);
  at("notlive").hidden = is;
}
async function ask() {
  try {
    const answer = await fetch("/healthz", { cache: "no-store", signal: AbortSignal.timeout(6000) });
    if (!answer.ok) throw new Error("it is there and does not answer");
  } catch { hear(false); return; }
  if (!await send()) hear(true);
}

document.addEventListener("click", (event) => {
  const b = event.target.closest("form.press.shift button:not([type=button]), form.measure button");
  if (!b || b.disabled || event.defaultPrevented) return;
  event.preventDefault();
  keep(b.form, b);
});
addEventListener("offline", () => hear(false));
addEventListener("online", ask);
document.addEventListener("visibilitychange", () => { if (!document.hidden) ask(); });
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
