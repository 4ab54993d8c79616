// Reads the chart out at the pointer, and by a slider for keys and fingers; the figures are
// those of the table behind it. Both are drawn anew while the page is left open.
"use strict";

const at = (id) => document.getElementById(id);

// The slider is made once; what it reads changes beneath it.
const box = document.createElement("div"), slider = document.createElement("input"), label = document.createElement("label"), words = document.createElement("p");
box.className = "readout";
label.textContent = "Read the chart at ";
slider.type = "range";
slider.id = "reader";
slider.min = 0;
label.append(slider);
words.id = "read";
box.append(label, words);

let rows = [], heads = [], along = () => {};
function show(i) {
  const cells = [...rows[i].cells].map((cell) => cell.textContent);
  const parts = [];
  const add = (name, text) => {
    const part = document.createElement("span"), value = document.createElement("b");
    value.textContent = text;
    part.append(name ? name + " " : "", value);
    parts.push(part);
  };
  add("", cells[0] + (cells[1] ? ", " + cells[1] : ""));
  if (cells.length === heads.length) {
    for (let n = 2; n < heads.length - 1; n++) {
      const [name, unit] = heads[n].split(", ");
      add(name.toLowerCase(), cells[n] + " " + unit);
    }
    if (cells[cells.length - 1]) add("", cells[cells.length - 1]);
  }
  words.replaceChildren(...parts);
  slider.setAttribute("aria-valuetext", words.textContent);
  for (const side of ["x1", "x2"]) at("at").setAttribute(side, rows[i].dataset.x);
  at("at").setAttribute("visibility", "visible");
}
const nearest = (x) => {
  let best = 0;
  rows.forEach((row, i) => { if (Math.abs(row.dataset.x - x) < Math.abs(rows[best].dataset.x - x)) best = i; });
  return best;
};
const nowOf = (drawn) => Number(drawn.querySelector(".nowline")?.getAttribute("x1") || 0);

// read takes up a chart and its table; the time that was read stays where it is still there,
// and what was read at now goes along with it.
function read(was) {
  const drawn = at("drawn"), table = at("figures");
  rows = table ? [...table.tBodies[0].rows] : [];
  if (!drawn || rows.length === 0) return;
  heads = [...table.tHead.rows[0].cells].map((cell) => cell.textContent);
  slider.max = rows.length - 1;
  const same = was ? rows.findIndex((row) => row.cells[0].textContent === was) : -1;
  slider.value = same >= 0 ? same : nearest(nowOf(drawn));
  show(Number(slider.value));
  drawn.addEventListener("pointermove", (event) => {
    const there = new DOMPoint(event.clientX, event.clientY).matrixTransform(drawn.getScreenCTM().inverse());
    slider.value = nearest(there.x);
    show(Number(slider.value));
  });
  // On a narrow screen the chart scrolls, and what its lines are called goes along.
  const scroll = at("scroll"), rail = document.createElementNS(drawn.namespaceURI, "g"), back = document.createElementNS(drawn.namespaceURI, "rect");
  back.setAttribute("class", "rail");
  back.setAttribute("y", 18);
  back.setAttribute("width", drawn.querySelector(".title").getAttribute("x"));
  back.setAttribute("height", drawn.viewBox.baseVal.height);
  rail.append(back, ...drawn.querySelectorAll(".title, .scale, .limitname"));
  at("at").before(rail);
  along = () => {
    rail.setAttribute("transform", `translate(${scroll.scrollLeft / scroll.scrollWidth * drawn.viewBox.baseVal.width} 0)`);
    back.setAttribute("visibility", scroll.scrollLeft > 0 ? "visible" : "hidden");
  };
  along();
}
read();
if (rows.length > 0) {
  const scroll = at("scroll"), now = nowOf(at("drawn"));
  scroll.before(box);
  // It opens at now, not at its left edge.
  if (now && scroll.scrollWidth > scroll.clientWidth) {
    scroll.scrollLeft = now / at("drawn").viewBox.baseVal.width * scroll.scrollWidth - scroll.clientWidth / 2;
  }
  slider.addEventListener("input", () => show(Number(slider.value)));
  scroll.addEventListener("scroll", () => along(), { passive: true });
  addEventListener("resize", () => along());
  along();
}

// What is measured now and what is foretold is asked for again each minute: a page left open
// must not go on showing the margin of an hour ago. Forms are left as they are.
const lookEvery = 60000;
let looked = Date.now(), heard = Date.now();
async function look() {
  looked = Date.now();
  const answer = await fetch(location.pathname.replace(/^(\/place\/[^/]+)\/.*$/, "$1") + location.search, { cache: "no-store", redirect: "error", signal: AbortSignal.timeout(15000) });
  if (!answer.ok && answer.status !== 422) throw new Error("status " + answer.status);
  const page = new DOMParser().parseFromString(await answer.text(), "text/html");
  const swap = (part) => {
    const old = document.querySelector(part), is = page.querySelector(part);
    if (!old || !is || old.contains(document.activeElement)) return false;
    old.replaceWith(is);
    return true;
  };
  heard = Date.now();
  for (const part of [".top .now", "section.instruments", "section[aria-labelledby=sensors]"]) swap(part);
  if (rows.length === 0 || [at("drawn"), at("figures")].some((part) => part.contains(document.activeElement)) || !page.getElementById("figures")) return;
  const i = Number(slider.value), was = i === nearest(nowOf(at("drawn"))) ? "" : rows[i].cells[0].textContent;
  if (swap("#drawn") && swap("#figures")) read(was);
}
function late(error) {
  const age = document.querySelector("#now small");
  if (age && !age.dataset.late) { age.dataset.late = error; age.textContent = "As of " + document.querySelector(".top .now").textContent.trim() + ", not live: " + age.textContent; }
}
// What stood here minutes ago says nothing of now: a page comes out of a pocket after hours.
const counts = 5 * 60000;
function unheard() {
  const now = document.querySelector("section.instruments"), verdict = now.querySelector(".verdict");
  if (Date.now() - heard < counts || now.classList.contains("unheard")) return;
  now.classList.add("unheard");
  document.querySelector("#now small").textContent = "no longer";
  verdict.className = "verdict unknown";
  verdict.textContent = "? Unknown: nothing was heard from the yard since " + document.querySelector(".top .now").textContent.trim() + ". Measure, and go by the card.";
}
setInterval(() => {
  unheard();
  if (!document.hidden && Date.now() - looked >= lookEvery) look().catch(late);
}, 5000);
document.addEventListener("visibilitychange", () => {
  unheard();
  if (!document.hidden) look().catch(late);
});
