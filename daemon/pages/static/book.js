// Rows are added, moved and removed without the page going away; the server makes them,
// as it does without this script.
"use strict";

const writing = document.querySelector("form.writing");
if (writing) {
  touched = true; // app.js: never take a form away from under somebody

  // redraw has the server make the form anew, and puts it in the old one's place.
  const redraw = async (what) => {
    const body = new URLSearchParams(new FormData(writing));
    body.set("do", what);
    const answer = await fetch(writing.action, { method: "POST", body });
    const page = new DOMParser().parseFromString(await answer.text(), "text/html");
    const fresh = page.querySelector("form.writing");
    if (!fresh) throw new Error("no form came back");
    writing.replaceChildren(...fresh.childNodes);
  };

  writing.addEventListener("click", async (event) => {
    const button = event.target.closest("button[name=do]");
    if (!button || writing.dataset.plain) return;
    event.preventDefault();
    if (event.detail > 1) return; // a hasty hand means one row
    const [what, list, row] = button.value.split(" ");
    try {
      await redraw(button.value);
    } catch {
      writing.dataset.plain = "yes"; // then as without script
      button.click();
      return;
    }
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
    const name = event.target.name || "";
    if (!/\.(kind|system)$/.test(name) || writing.dataset.plain) return;
    try {
      await redraw("show all");
      const again = writing.querySelector(`[name="${CSS.escape(name)}"]`);
      if (again) again.focus();
    } catch {
      // The field keeps what was chosen, and keeping the form shows the rest.
    }
  });
}
