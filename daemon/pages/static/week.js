// The board: a stage is picked up, moved, looked at and put back. What it would do the
// server works out; without this script the stage's own page asks the same by forms.
"use strict";

(() => {
  const $ = (selector, from = document) => from.querySelector(selector);
  const hand = $("#hand"), pick = $("#pick"), day = 86400000, grain = 15 * 60000, grid = 5 * 60000; // a plan's starts are on the grid
  let held = null, asked = 0, picking = false;
  const theBoard = () => $("#board");
  if (pick) $(".tools").hidden = false; // else he may only read, or the days are too many to take up a stage

  // A bar's link names its stage.
  const keyOf = (link) => {
    const url = new URL(link.getAttribute("href"), location.href), boat = decodeURIComponent(url.pathname.replace(/^\/boat\//, ""));
    return { boat, area: url.searchParams.get("area"), stage: url.searchParams.get("stage") };
  };
  const isStage = (link) => pick && link && link.getAttribute("href").includes("stage=") && !link.querySelector("use[href$='-running']");
  const span = () => ({ from: Number(theBoard().dataset.from), to: Number(theBoard().dataset.to) });
  const rowsOf = () => [...theBoard().querySelectorAll("section.row")];
  const percent = (text) => parseFloat(text) / 100;
  const wall = new Intl.DateTimeFormat("en-GB", { weekday: "short", day: "numeric", month: "short", hour: theBoard().dataset.hours ? "numeric" : "2-digit", minute: "2-digit", hour12: !!theBoard().dataset.hours, timeZone: $(".now").title || "UTC" });
  const field = (at) => { // as a form's time, on the yard's clock
    const p = Object.fromEntries(new Intl.DateTimeFormat("en-GB", { year: "numeric", month: "2-digit", day: "2-digit", hour: "2-digit", minute: "2-digit", hourCycle: "h23", timeZone: $(".now").title || "UTC" }).formatToParts(at).map((x) => [x.type, x.value]));
    return `${p.year}-${p.month}-${p.day}T${p.hour}:${p.minute}`;
  };
  const linkTo = (href) => [...theBoard().querySelectorAll("section.row a")].find((a) => a.getAttribute("href") === href);

  function take(link) {
    putBack(false);
    const shape = link.querySelector("[x][width]"), s = span(), all = s.to - s.from, key = keyOf(link);
    held = {
      href: link.getAttribute("href"), key, row: rowsOf().indexOf(link.closest("section.row")),
      at: Math.round((s.from + percent(shape.getAttribute("x")) * all) / grid) * grid, long: Math.max(percent(shape.getAttribute("width")) * all, grain), name: `${key.stage} on ${key.boat} ${key.area}`,
    };
    held.wasRow = held.row;
    held.wasAt = held.at;
    draw();
    panel();
    if (!down) show();
  }

  // show brings the stage in hand out from behind the panel at the foot of the screen.
  function show() {
    const mark = $(".heldmark .held"), board = theBoard();
    if (!mark) return;
    const at = mark.getBoundingClientRect(), room = hand.getBoundingClientRect().top, edge = board.getBoundingClientRect(), name = $(".name", board).offsetWidth;
    // To the beginning of its day: a narrow board stops at days.
    const its = [...board.querySelectorAll(".day")].filter((d) => d.getBoundingClientRect().left <= at.left + 1).pop();
    if (its && (at.left < edge.left + name || at.right > edge.right)) board.scrollLeft = its.offsetLeft - name;
    const by = Math.min(Math.max(at.bottom - room + 16, 0), at.top - 16);
    if (by) window.scrollBy({ top: by });
  }

  // draw shows where the stage is held: on the row it is over, and faded where it came from.
  function draw() {
    for (const old of document.querySelectorAll(".heldmark")) old.remove();
    for (const old of document.querySelectorAll(".lifted")) old.classList.remove("lifted");
    theBoard().classList.toggle("holding", !!held);
    if (!held) return;
    const from = linkTo(held.href), s = span();
    if (from) from.classList.add("lifted");
    const row = rowsOf()[held.row], svg = [...row.querySelectorAll(".line > svg")].pop(), ns = "http://www.w3.org/2000/svg";
    const mark = document.createElementNS(ns, "g"), box = document.createElementNS(ns, "rect"), text = document.createElementNS(ns, "text");
    const x = 100 * (held.at - s.from) / (s.to - s.from) + "%";
    mark.setAttribute("class", "heldmark");
    for (const [name, value] of Object.entries({ class: "held", x, y: 4, width: 100 * held.long / (s.to - s.from) + "%", height: svg.getAttribute("height") - 8 })) box.setAttribute(name, value);
    for (const [name, value] of Object.entries({ class: "heldtext", x, dx: 6, y: 18 })) text.setAttribute(name, value);
    text.textContent = wall.format(held.at);
    mark.append(box, text);
    svg.append(mark);
  }

  const placeOf = () => rowsOf()[held.row].getAttribute("aria-label");

  function panel() {
    hand.hidden = false;
    hand.innerHTML = "";
    const h = document.createElement("h2"), to = document.createElement("p"), ways = document.createElement("div"), out = document.createElement("div");
    h.textContent = held.name;
    to.className = "to";
    to.setAttribute("role", "status");
    ways.className = "ways";
    out.id = "wouldbe";
    out.setAttribute("aria-live", "polite");
    const button = (text, name, does) => {
      const b = document.createElement("button");
      b.type = "button";
      b.textContent = text;
      b.setAttribute("aria-label", name);
      if (name !== text) b.title = name;
      b.addEventListener("click", does);
      ways.append(b);
      return b;
    };
    button("←", "a quarter of an hour earlier", () => shift(-1));
    button("→", "a quarter of an hour later", () => shift(1));
    button("⇤", "the shift before", () => shiftStart(-1));
    button("⇥", "the next shift", () => shiftStart(1));
    button("↑", "the place above", () => lane(-1));
    button("↓", "the place below", () => lane(1));
    button("Look what it does", "Look what it does", look).className = "main";
    button("Put back", "Put back", () => putBack(true));
    const more = document.createElement("a");
    more.className = "button";
    more.textContent = "Hold back, or by another boat…";
    more.href = "/week/try?" + new URLSearchParams(held.key);
    ways.append(more);
    hand.append(h, to, ways, out);
    tell();
  }

  function tell() {
    const to = $(".to", hand), same = held.row === held.wasRow;
    to.textContent = `${wall.format(held.at)}, ${placeOf()}` + (same && held.at === held.wasAt ? " (where it is)" : "");
  }

  function moved() {
    const s = span();
    held.at = Math.min(Math.max(held.at, s.from), s.to - grain);
    asked++; // what is on its way is of where it was
    const out = $("#wouldbe");
    if (out) out.textContent = "";
    draw();
    tell();
  }
  const shift = (by) => { held.at = Math.round(held.at / grain + by) * grain; moved(); };
  const lane = (by) => { held.row = Math.min(Math.max(held.row + by, 0), rowsOf().length - 1); moved(); };
  function shiftStart(by) {
    const s = span(), all = (theBoard().dataset.shifts || "").split(" ").filter(Boolean).map((m) => s.from + m * 60000);
    const next = by > 0 ? all.find((t) => t > held.at) : all.filter((t) => t < held.at).pop();
    held.at = next === undefined ? held.at + by * day : next;
    moved();
  }

  // look asks what the pin would do; an answer to an older question is dropped.
  async function look() {
    if (!held) return;
    const mine = ++asked, out = $("#wouldbe");
    const q = new URLSearchParams({ ...held.key, kind: "pinned", until: field(held.at), part: "1" });
    if (held.row !== held.wasRow) q.set("place", placeOf());
    await ask("/week/try?" + q, mine, out);
  }
  async function ask(address, mine, out) {
    out.innerHTML = "";
    const busy = document.createElement("p");
    busy.className = "busy";
    busy.textContent = "Working out what it does…";
    out.append(busy);
    let text;
    try {
      text = await (await fetch(address)).text();
    } catch (error) {
      text = "";
    }
    if (mine !== asked || !held) return;
    if (!text) { busy.textContent = "It can't be worked out: no answer came. Look again."; return; }
    out.innerHTML = text;
    held.looked = address;
    show();
  }
  hand.addEventListener("click", (event) => {
    const near = event.target.closest(".nearest a"), drop = event.target.closest("a.drop");
    if (drop) { event.preventDefault(); putBack(true); }
    if (near) {
      event.preventDefault();
      const to = new URL(near.href), out = $("#wouldbe");
      to.searchParams.set("part", "1");
      held.near = to.searchParams.get("until");
      ask(to.pathname + to.search, ++asked, out).then(() => { if (held) follow(to.searchParams.get("until")); });
    }
  });
  // follow moves the mark to a time on the yard's clock, as a form writes it.
  function follow(text) {
    let at = Date.parse(text + "Z");
    for (let i = 0; i < 2; i++) at += Date.parse(text + "Z") - Date.parse(field(at) + "Z");
    held.at = at;
    draw();
    tell();
  }

  function putBack(focus) {
    if (!held) return;
    const link = linkTo(held.href);
    held = null;
    asked++;
    draw();
    hand.hidden = true;
    hand.innerHTML = "";
    if (focus && link) link.focus({ preventScroll: true });
  }

  // Keys: P picks up what has the focus; then arrows, Enter to look, Escape to put back.
  document.addEventListener("keydown", (event) => {
    if (event.ctrlKey || event.metaKey || event.altKey || event.target.closest("input, select, textarea")) return;
    const link = event.target.closest("#board a");
    if (!held) {
      if ((event.key === "p" || event.key === "P") && isStage(link)) { event.preventDefault(); take(link); }
      return;
    }
    if (event.key !== "Escape" && event.target.closest("#hand a, #hand button, #hand summary")) return;
    const does = {
      ArrowLeft: () => (event.shiftKey ? shiftStart(-1) : shift(-1)), ArrowRight: () => (event.shiftKey ? shiftStart(1) : shift(1)), PageUp: () => shiftStart(-1), PageDown: () => shiftStart(1),
      ArrowUp: () => lane(-1), ArrowDown: () => lane(1), Enter: look, Escape: () => putBack(true),
    }[event.key];
    if (does) { event.preventDefault(); does(); }
  });

  // Mouse and finger: a drag of the mouse, a long press, or a tap while picking.
  let down = null, quiet = false;
  const over = (event) => {
    const row = rowsOf().find((r) => { const b = r.getBoundingClientRect(); return event.clientY >= b.top && event.clientY < b.bottom; });
    const line = (row || rowsOf()[held.row]).querySelector(".line > svg").getBoundingClientRect(), s = span();
    if (row) held.row = rowsOf().indexOf(row);
    held.at = Math.round((s.from + (event.clientX - (down ? down.off : 0) - line.left) / line.width * (s.to - s.from)) / grain) * grain;
    moved();
  };
  const startDrag = (event) => {
    take(down.link);
    const box = down.link.querySelector("[x][width]").getBoundingClientRect();
    down.off = down.x - box.left;
    down.drags = true;
    quiet = true; // the click that ends it is no click on the link
  };
  document.addEventListener("pointerdown", (event) => {
    const link = event.target.closest && event.target.closest("#board a");
    quiet = false;
    if (!isStage(link) || event.button > 0) return;
    down = { link, x: event.clientX, y: event.clientY, off: 0, touch: event.pointerType !== "mouse" };
    if (down.touch) down.timer = setTimeout(() => startDrag(event), 450);
  });
  document.addEventListener("pointermove", (event) => {
    if (!down) return;
    const far = Math.hypot(event.clientX - down.x, event.clientY - down.y) > 6;
    if (!down.drags) {
      if (down.touch && far) { clearTimeout(down.timer); down = null; return; } // it scrolls
      if (down.touch || !far) return;
      startDrag(event);
    }
    over(event);
  });
  const up = () => {
    if (!down) return;
    clearTimeout(down.timer);
    const dragged = down.drags;
    down = null;
    if (dragged && held && (held.at !== held.wasAt || held.row !== held.wasRow)) look();
  };
  document.addEventListener("pointerup", up);
  document.addEventListener("pointercancel", () => { if (down) clearTimeout(down.timer); down = null; });
  document.addEventListener("touchmove", (event) => { if (down && down.drags) event.preventDefault(); }, { passive: false });
  document.addEventListener("contextmenu", (event) => { if (down && down.touch || quiet) event.preventDefault(); });
  document.addEventListener("dragstart", (event) => { if (event.target.closest && event.target.closest("#board a")) event.preventDefault(); });
  document.addEventListener("click", (event) => {
    const link = event.target.closest("#board a"), row = event.target.closest("#board section.row .line");
    if (quiet) { quiet = false; event.preventDefault(); return; }
    if (picking && isStage(link)) { event.preventDefault(); take(link); setPicking(false); return; }
    if (held && row) { event.preventDefault(); down = null; over(event); look(); }
  }, true);
  function setPicking(on) {
    picking = on;
    pick.setAttribute("aria-pressed", String(on));
    document.body.classList.toggle("picking", on);
    pick.textContent = on ? "Now touch the stage" : "Pick up a stage";
  }
  if (pick) pick.addEventListener("click", () => setPicking(!picking));

  // What is new comes in place: the stage in hand, what is typed and where one looks stay.
  let coming = null;
  document.addEventListener("newer", (event) => {
    event.preventDefault();
    clearTimeout(coming);
    coming = setTimeout(renew, 200);
  });
  async function renew() {
    let fresh;
    try {
      fresh = new DOMParser().parseFromString(await (await fetch(location.href)).text(), "text/html");
    } catch (error) {
      return; // the next change asks again
    }
    if (down) { coming = setTimeout(renew, 1000); return; }
    const focus = document.activeElement && document.activeElement.getAttribute("href"), left = theBoard().scrollLeft, inBoard = theBoard().contains(document.activeElement);
    for (const part of document.querySelectorAll("[data-live]")) {
      // Nobody releases another draft than the one he reads: his is refused with a word.
      const now = fresh.getElementById(part.id), at = document.activeElement, inside = part.contains(at), releasing = part.id === "releases" && (inside || part.matches(":hover"));
      if (!now || releasing || part.querySelector("[aria-invalid]") || inside && at.matches("input, select, textarea")) continue;
      part.querySelectorAll("details[open]").forEach((d) => { const same = now.querySelector(`details.${d.className}`); if (same) same.open = true; });
      const to = inside && at.getAttribute("href"), folded = inside && at.closest("summary");
      part.replaceWith(document.adoptNode(now));
      if (part.id === "board") continue; // below
      const again = folded ? now.querySelector("summary") : [...now.querySelectorAll("a")].find((a) => to && a.getAttribute("href") === to);
      if (again) again.focus({ preventScroll: true });
    }
    for (const one of [".now", "#grid"]) if ($(one) && $(one, fresh)) $(one).replaceWith(document.adoptNode($(one, fresh)));
    theBoard().scrollLeft = left;
    if (inBoard && focus && linkTo(focus)) linkTo(focus).focus({ preventScroll: true });
    if (!held) return;
    draw();
    if (held.looked && $("#wouldbe .effect") && !$("#wouldbe").contains(document.activeElement)) {
      const out = $("#wouldbe");
      await ask(held.looked, ++asked, out);
      const said = document.createElement("p");
      said.className = "small";
      said.textContent = "The draft was made anew; this is what it does now.";
      out.prepend(said);
    }
  }
})();
