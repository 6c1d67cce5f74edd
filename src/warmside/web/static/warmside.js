// Small helps; every page reads and works without them.
"use strict";

// A length [m] as this person writes it; the server reads it back.
const lengthText = (metres) => {
  if (document.documentElement.dataset.lengths === "metric") {
    const mm = Math.round(metres * 1000);
    return mm < 1000 ? `${mm} mm` : `${mm / 1000} m`;
  }
  const sixteenths = Math.round(metres / 0.0254 * 16), feet = Math.floor(sixteenths / 192);
  const inches = Math.floor(sixteenths / 16) % 12;
  let top = sixteenths % 16, bottom = 16;
  while (top && top % 2 === 0) { top /= 2; bottom /= 2; }
  const part = top ? (inches ? `${inches}-${top}/${bottom}` : `${top}/${bottom}`) : `${inches}`;
  return feet ? `${feet}' ${part}"` : `${part}"`;
};

// A temperature [degC] likewise.
const temperatureText = (celsius) => document.documentElement.dataset.temperatures === "°F"
  ? `${Math.round(celsius * 1.8 + 32)} °F` : `${celsius.toFixed(1)} °C`;

// A quantity [SI] by the server's own way of writing it.
const quantityText = (value, { pattern, si, zero, places }, locale) => {
  const shown = Number(((value - zero) / si).toFixed(places)) + 0;
  return pattern.replace("{}", shown.toLocaleString(locale, { minimumFractionDigits: places, maximumFractionDigits: places }));
};

// Where a row of links is wider than the screen, the current one is in sight.
for (const link of document.querySelectorAll("nav.job .entries [aria-current], .walls-nav [aria-current]")) {
  const row = link.parentElement;
  row.scrollLeft = link.offsetLeft - row.offsetLeft - (row.clientWidth - link.offsetWidth) / 2;
}

// What was refused is shown in its field; a list that holds it stands open already.
document.querySelector("main [aria-invalid=true]")?.focus();

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

// Temperatures drawn as the sliders move; without this the button draws them.
for (const form of document.querySelectorAll("form[data-image]")) {
  let asked = null;
  const draw = async () => {
    const figure = [...form.parentElement.querySelectorAll("figure.image")].find((one) => one.getClientRects().length);
    for (const shown of form.querySelectorAll("output")) shown.value = temperatureText(Number(form.elements[shown.htmlFor.value].value));
    if (asked) asked.abort();
    asked = new AbortController();
    try {
      const answer = await fetch(`${form.dataset.image}?${new URLSearchParams(new FormData(form))}&narrow=${figure.matches(".small")}`, { signal: asked.signal });
      if (!answer.ok) return;
      const drawn = new DOMParser().parseFromString(await answer.text(), "image/svg+xml").documentElement;
      figure.replaceChildren(document.importNode(drawn, true));
    } catch { /* a later move took over */ }
  };
  form.addEventListener("input", draw);
  matchMedia("(max-width: 34rem)").addEventListener("change", draw);
}

// A study under way tells how far it is.
for (const watched of document.querySelectorAll("[data-watch]")) {
  const look = async () => {
    try {
      const answer = await fetch(location.href);
      const page = new DOMParser().parseFromString(await answer.text(), "text/html");
      const now = page.querySelector("[data-watch]");
      if (!now) { location.reload(); return; }
      const bar = watched.querySelector("progress"), next = now.querySelector("progress");
      bar.max = next.max; bar.value = next.value;
      watched.querySelector(".step").textContent = now.querySelector(".step").textContent;
    } catch { /* try again */ }
    setTimeout(look, 1500);
  };
  setTimeout(look, 1500);
}
