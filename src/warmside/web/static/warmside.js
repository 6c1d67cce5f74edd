// Small helps; every page reads and works without them.
"use strict";

// A form that is being filled in keeps itself as a draft.
for (const form of document.querySelectorAll("form[data-draft]")) {
  const told = form.querySelector(".kept");
  let waiting = 0, again = false, busy = false;
  const keep = async () => {
    if (busy) { again = true; return; }
    busy = true;
    const body = new URLSearchParams(new FormData(form));
    body.set("draft", form.dataset.draft);
    body.set("quiet", "1");
    try {
      const answer = await fetch(form.dataset.keep, { method: "POST", body });
      told.textContent = answer.ok ? "Draft kept " + new Date().toLocaleTimeString() : "Draft not kept";
    } catch {
      told.textContent = "No connection: the draft is not kept yet";
      again = true;
      setTimeout(keep, 5000);
    }
    busy = false;
    if (again && told.textContent.startsWith("Draft")) { again = false; keep(); }
  };
  form.addEventListener("input", () => { clearTimeout(waiting); waiting = setTimeout(keep, 800); });
  form.addEventListener("submit", () => clearTimeout(waiting));
}
