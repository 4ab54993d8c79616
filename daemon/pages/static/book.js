// Rows are added, moved and removed without the page going away; the server makes them,
// as it does without this script.
"use strict";

const writing = document.querySelector("form.writing");
if (writing) {
  touched = true; // app.js: never take a form away from under somebody
  const typed = () => new URLSearchParams(new FormData(writing)).toString();

  // redraw has the server make the form anew, and puts it in the old one's place; again
  // if somebody typed meanwhile, so that nothing typed is lost.
  const redraw = async (what) => {
    for (;;) {
      const sent = typed();
      const answer = await fetch(writing.action, { method: "POST", body: new URLSearchParams(sent + "&do=" + encodeURIComponent(what)) });
      const page = new DOMParser().parseFromString(await answer.text(), "text/html");
      const fresh = page.querySelector("form.writing");
      if (!fresh) throw new Error("no form came back");
      if (typed() !== sent) continue;
      const at = document.activeElement, name = at && at.name, from = at && at.selectionStart;
      writing.replaceChildren(...fresh.childNodes);
      const same = name && name !== "do" && writing.querySelector(`[name="${CSS.escape(name)}"]`);
      if (same) {
        same.focus();
        if (typeof from === "number") same.setSelectionRange(from, from);
      }
      return;
    }
  };

  writing.addEventListener("click", async (event) => {
    const button = event.target.closest("button[name=do]");
    if (!button || writing.dataset.plain) return;
    event.preventDefault();
    if (event.detail > 1) return; // a hasty hand means one row
    const [what, list, row] = button.value.split(" ");
    button.disabled = true; // a plan takes a moment
    try {
      await redraw(button.value);
    } catch {
      button.disabled = false;
      writing.dataset.plain = "yes"; // then as without script
      button.click();
      return;
    }
    const foreseen = writing.querySelector(".foreseen");
    if (foreseen) foreseen.scrollIntoView({ block: "center" });
    const focus = writing.querySelector("[autofocus]");
    if (focus) focus.focus();
    if (what === "up" || what === "down") {
      const at = Number(row) + (what === "up" ? -1 : 1);
      const same = writing.querySelector(`button[value="${what} ${list} ${at}"]:not([disabled])`);
      if (same) same.focus();
    }
  });

  // A stage of another kind is asked other things.
  writing.addEventListener("change", async (event) => {
    if (!/\.(kind|system)$/.test(event.target.name || "") || writing.dataset.plain) return;
    try {
      await redraw("show all");
    } catch {
      // The field keeps what was chosen, and keeping the form shows the rest.
    }
  });
}
