// Reads the chart out at the pointer, and by a slider for keys and fingers; the figures are
// those of the table behind it.
"use strict";

const drawn = document.getElementById("drawn"), table = document.getElementById("figures"), line = document.getElementById("at");
const rows = table ? [...table.tBodies[0].rows] : [];

if (drawn && rows.length > 0) {
  const heads = [...table.tHead.rows[0].cells].map((cell) => cell.textContent);
  const box = document.createElement("div"), slider = document.createElement("input"), label = document.createElement("label"), words = document.createElement("p");
  box.className = "readout";
  label.textContent = "Read the chart at ";
  slider.type = "range";
  slider.id = "reader";
  slider.min = 0;
  slider.max = rows.length - 1;
  label.append(slider);
  words.id = "read";
  box.append(label, words);
  document.getElementById("scroll").before(box);

  const show = (i) => {
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
    for (const side of ["x1", "x2"]) line.setAttribute(side, rows[i].dataset.x);
    line.setAttribute("visibility", "visible");
  };
  const nearest = (x) => {
    let best = 0;
    rows.forEach((row, i) => { if (Math.abs(row.dataset.x - x) < Math.abs(rows[best].dataset.x - x)) best = i; });
    return best;
  };
  const now = document.querySelector("#drawn .nowline");
  slider.value = now ? nearest(Number(now.getAttribute("x1"))) : 0;
  show(Number(slider.value));
  slider.addEventListener("input", () => show(Number(slider.value)));
  drawn.addEventListener("pointermove", (event) => {
    const at = new DOMPoint(event.clientX, event.clientY).matrixTransform(drawn.getScreenCTM().inverse());
    slider.value = nearest(at.x);
    show(Number(slider.value));
  });
  // On a narrow screen the chart opens at now, not at its left edge, and what its lines are
  // called goes along.
  const scroll = document.getElementById("scroll"), rail = document.createElementNS(drawn.namespaceURI, "g"), back = document.createElementNS(drawn.namespaceURI, "rect");
  back.setAttribute("class", "rail");
  back.setAttribute("y", 18);
  back.setAttribute("width", drawn.querySelector(".title").getAttribute("x"));
  back.setAttribute("height", drawn.viewBox.baseVal.height);
  rail.append(back, ...drawn.querySelectorAll(".title, .scale, .limitname"));
  line.before(rail);
  const along = () => {
    rail.setAttribute("transform", `translate(${scroll.scrollLeft / scroll.scrollWidth * drawn.viewBox.baseVal.width} 0)`);
    back.setAttribute("visibility", scroll.scrollLeft > 0 ? "visible" : "hidden");
  };
  if (now && scroll.scrollWidth > scroll.clientWidth) {
    scroll.scrollLeft = now.getAttribute("x1") / drawn.viewBox.baseVal.width * scroll.scrollWidth - scroll.clientWidth / 2;
  }
  scroll.addEventListener("scroll", along, { passive: true });
  addEventListener("resize", along);
  along();
}

// What is measured now is asked for again each minute: a page left open must not go on
// showing the margin of an hour ago. Forms are left as they are; the chart is drawn anew with
// the page.
const lookEvery = 60000;
let looked = Date.now();
async function look() {
  looked = Date.now();
  const answer = await fetch(location.pathname.replace(/^(\/place\/[^/]+)\/.*$/, "$1") + location.search, { cache: "no-store", redirect: "error", signal: AbortSignal.timeout(15000) });
  if (!answer.ok && answer.status !== 422) throw new Error("status " + answer.status);
  const page = new DOMParser().parseFromString(await answer.text(), "text/html");
  for (const part of [".top .now", "section.instruments", "section[aria-labelledby=sensors]"]) {
    const old = document.querySelector(part), is = page.querySelector(part);
    if (old && is && !old.contains(document.activeElement)) old.replaceWith(is);
  }
}
function late(error) {
  const age = document.querySelector("#now small");
  if (age && !age.dataset.late) { age.dataset.late = error; age.textContent = "As of " + document.querySelector(".top .now").textContent.trim() + ", not live: " + age.textContent; }
}
setInterval(() => { if (!document.hidden && Date.now() - looked >= lookEvery) look().catch(late); }, 5000);
document.addEventListener("visibilitychange", () => { if (!document.hidden) look().catch(late); });
