// The elevation of a wall: read its pieces by pointer, finger or keyboard, and move some of them.
// Moving fills the form in; only the form's own button saves. Without scripts the list of pieces
// and the form do the same.
"use strict";

{
  const SVG = "http://www.w3.org/2000/svg";
  const ORDER = ["Photos", "Boxes and pipes", "Windows and doors", "Inside walls", "Members", "Joints", "Pockets", "Bays"];
  const drawing = document.querySelector("[data-drawing]");
  const reading = document.querySelector("[data-reading]");
  const nudge = document.querySelector(".nudge");
  const form = document.querySelector("form[data-draw]");
  const step = Number(document.documentElement.dataset.step);
  let pieces = [], photos = [], chosen = null, moved = { x: 0, z: 0 }, held = false, before = [], said = "", drag = null;

  // Pieces, from the list's rows

  const readRows = (root) => [...root.querySelectorAll("tr[data-at]")].map((row) => ({
    group: row.parentElement.dataset.group,
    name: row.cells[0].textContent,
    words: row.cells[1].textContent,
    at: row.dataset.at.split(",").map((mm) => mm / 1000),
    field: row.dataset.x, now: Number(row.dataset.xNow), per: Number(row.dataset.per),
    fieldUp: row.dataset.z, nowUp: Number(row.dataset.zNow),
  }));

  const fieldOf = (name) => (form && name ? form.elements[name] : null);
  const moves = (piece) => Boolean(piece && fieldOf(piece.field));

  // Where things lie on the drawing that is shown

  const sheet = () => [...drawing.querySelectorAll(".elevation svg")].find((svg) => svg.getClientRects().length);
  const plane = (svg) => {
    const [scale, left, bottom] = svg.dataset.plane.split(" ").map(Number);
    return { scale, left, bottom };
  };
  const placeOf = (event) => {
    const svg = sheet(), to = svg.getScreenCTM(), { scale, left, bottom } = plane(svg);
    const point = new DOMPoint(event.clientX, event.clientY).matrixTransform(to.inverse());
    return { x: (point.x - left) / scale, z: (bottom - point.y) / scale, near: (event.pointerType === "touch" ? 9 : 5) / (scale * to.a) };
  };
  const distance = ([x0, z0, x1, z1], { x, z }) =>
    Math.hypot(Math.max(x0 - x, 0, x - x1), Math.max(z0 - z, 0, z - z1));
  const thin = (piece) => ["Joints", "Photos", "Boxes and pipes"].includes(piece.group);
  const under = (place) => [...photos, ...pieces]
    .filter((piece) => distance(piece.at, place) <= (thin(piece) ? place.near : 1e-6))
    .sort((a, b) => ORDER.indexOf(a.group) - ORDER.indexOf(b.group) || distance(a.at, place) - distance(b.at, place));

  // Showing

  const add = (svg, name, attributes) => {
    const made = document.createElementNS(SVG, name);
    for (const [key, value] of Object.entries(attributes)) made.setAttribute(key, value);
    svg.append(made);
    return made;
  };
  const mark = (piece, kind) => {
    for (const svg of drawing.querySelectorAll(".elevation svg")) {
      for (const old of svg.querySelectorAll(`.${kind}`)) old.remove();
      if (!piece) continue;
      const { scale, left, bottom } = plane(svg), [x0, z0, x1, z1] = piece.at;
      const shift = piece === chosen ? moved : { x: 0, z: 0 };
      add(svg, "rect", {
        class: kind, x: left + (x0 + shift.x) * scale - 1, y: bottom - (z1 + shift.z) * scale - 1,
        width: (x1 - x0) * scale + 2, height: (z1 - z0) * scale + 2,
      });
    }
  };
  const pins = () => {
    for (const svg of drawing.querySelectorAll(".elevation svg")) {
      const { scale, left, bottom } = plane(svg);
      for (const { at: [x0, z0, x1, z1], name } of photos) {
        const x = left + (x0 + x1) / 2 * scale, y = bottom - (z0 + z1) / 2 * scale;
        add(svg, "circle", { class: "pin", cx: x, cy: y, r: 8 });
        add(svg, "text", { class: "pin", x, y: y + 3.6, "text-anchor": "middle", "font-size": 10 }).textContent = name.replace("photo ", "");
      }
    }
  };
  const tell = (piece, more = "") => {
    reading.hidden = false;
    reading.replaceChildren();
    said = more;
    if (!piece) {
      reading.textContent = more || "Point at a piece of the drawing, or tap it, to read what it is.";
      return;
    }
    const name = document.createElement("b");
    name.textContent = piece.name;
    reading.append(name, `: ${piece.words}. ${more}`);
  };
  const hint = (piece) => !moves(piece) ? "" : held ? "Arrows move it; Enter lets go, Escape puts it back." : "It can be moved: drag it, or press Enter.";

  const choose = (piece) => {
    if (held) letGo();
    chosen = piece;
    moved = { x: 0, z: 0 };
    mark(piece, "chosen-piece");
    tell(piece, hint(piece));
    for (const button of nudge.querySelectorAll("button"))
      button.disabled = !moves(piece) || (["up", "down"].includes(button.dataset.nudge) && !fieldOf(piece.fieldUp));
    drawing.classList.toggle("movable", moves(piece));
  };

  // Moving: the form's fields are what is moved, the mark shows where to

  const fill = () => {
    const across = Math.max(0, chosen.now + moved.x / chosen.per);
    fieldOf(chosen.field).value = lengthText(across);
    const up = fieldOf(chosen.fieldUp);
    if (up && moved.z) up.value = lengthText(Math.max(0, chosen.nowUp + moved.z));
    mark(chosen, "chosen-piece");
    fieldOf(chosen.field).dispatchEvent(new Event("input", { bubbles: true }));
  };
  const move = (x, z) => {
    if (!moves(chosen)) return;
    moved = { x: moved.x + x, z: fieldOf(chosen.fieldUp) ? moved.z + z : 0 };
    fill();
    const up = fieldOf(chosen.fieldUp);
    tell(chosen, `Now ${fieldOf(chosen.field).value}${up ? `, ${up.value} up` : ""}. Not saved yet.`);
  };
  const fields = () => [fieldOf(chosen.field), fieldOf(chosen.fieldUp)].filter(Boolean);
  const takeHold = () => {
    if (!moves(chosen)) return;
    held = true;
    before = fields().map((field) => field.value);
    tell(chosen, hint(chosen));
  };
  const letGo = () => { held = false; tell(chosen, "Not saved yet: Save the wall keeps it."); };
  const putBack = () => {
    held = false;
    moved = { x: 0, z: 0 };
    fields().forEach((field, i) => { field.value = before[i]; });
    fields()[0].dispatchEvent(new Event("input", { bubbles: true }));
    tell(chosen, hint(chosen));
  };
  const DIRECTION = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1],
    left: [-1, 0], right: [1, 0], up: [0, 1], down: [0, -1] };
  const byStep = (name, times = 1) => move(...DIRECTION[name].map((n) => n * step * times));

  // Keyboard

  const next = (by) => {
    const all = [...photos, ...pieces], at = all.indexOf(chosen);
    choose(all[(at + by + all.length) % all.length] ?? null);
  };
  const nextGroup = (by) => {
    const all = [...photos, ...pieces], groups = [...new Set(all.map((piece) => piece.group))];
    const at = groups.indexOf(chosen?.group);
    choose(all.find((piece) => piece.group === groups[(at + by + groups.length) % groups.length]) ?? null);
  };
  const KEYS = {
    ArrowRight: () => next(1), ArrowLeft: () => next(chosen ? -1 : 0), ArrowDown: () => nextGroup(1),
    ArrowUp: () => nextGroup(chosen ? -1 : 0), Enter: takeHold, " ": takeHold, Escape: () => choose(null),
  };
  const HELD = { Enter: letGo, " ": letGo, Escape: putBack };
  const onKey = (event) => {
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    const done = held && event.key in DIRECTION ? () => byStep(event.key, event.shiftKey ? 10 : 1) : (held ? HELD : KEYS)[event.key];
    if (!done) return;
    event.preventDefault();
    done();
  };

  // Pointer

  const onDown = (event) => {
    if (event.button || !event.target.closest("[data-framing]")) return;
    const place = placeOf(event), found = under(place);
    const keeps = chosen && found.includes(chosen);
    const grabbed = keeps && moves(chosen) ? chosen : found[0];
    drag = { place, found, keeps, grabbed, begun: false, touch: event.pointerType === "touch" };
  };
  const leave = () => {
    if (drag || !drawing.querySelector(".pointed-piece")) return;
    mark(null, "pointed-piece");
    tell(chosen, hint(chosen));
  };
  const onMove = (event) => {
    if (!drag && !event.target.closest("[data-framing]")) { leave(); return; }
    const place = placeOf(event);
    if (!drag) {
      if (event.pointerType !== "touch" && !held) {
        const over = under(place)[0];
        mark(over, "pointed-piece");
        tell(over ?? chosen, over ? hint(over) : "");
      }
      return;
    }
    const far = distance([drag.place.x, drag.place.z, drag.place.x, drag.place.z], place);
    if (!drag.begun && far > place.near && moves(drag.grabbed) && !(drag.touch && !drag.keeps)) {
      if (chosen !== drag.grabbed) choose(drag.grabbed);
      drag.begun = true;
      drag.from = { ...moved };
      drawing.querySelector("[data-framing]").setPointerCapture(event.pointerId);
      mark(null, "pointed-piece");
    }
    if (!drag.begun) return;
    const snap = (value) => Math.round(value / step) * step;
    const to = { x: drag.from.x + snap(place.x - drag.place.x), z: drag.from.z + snap(place.z - drag.place.z) };
    if (to.x !== moved.x || to.z !== moved.z) move(to.x - moved.x, to.z - moved.z);
  };
  const photoHere = ({ x, z }) => {
    const link = document.querySelector("[data-photo-here]"), address = new URL(link.href);
    address.searchParams.set("x", lengthText(Math.max(0, x)));
    address.searchParams.set("z", lengthText(Math.max(0, z)));
    link.href = address;
    link.textContent = "Add a photo at the place tapped";
  };
  const onUp = () => {
    if (drag && !drag.begun) {
      photoHere(drag.place);
      // a second tap on the same place goes on to what lies beneath
      const at = drag.found.indexOf(chosen);
      choose(drag.found[(at + 1) % drag.found.length] ?? null);
    } else if (drag) letGo();
    drag = null;
  };

  // The drawing follows the form while it is being filled in

  let waiting = 0, asked = null;
  const redraw = async () => {
    if (drag) { waiting = setTimeout(redraw, 250); return; }
    asked?.abort();
    asked = new AbortController();
    try {
      const body = new URLSearchParams(new FormData(form));
      const answer = await fetch(form.dataset.draw, { method: "POST", body, signal: asked.signal });
      const page = new DOMParser().parseFromString(await answer.text(), "text/html");
      if (!answer.ok) {
        const faults = [...page.querySelectorAll(".told li")].map((li) => li.textContent).join(" ");
        tell(chosen, `Not drawn yet: ${faults || page.querySelector("h1")?.textContent}`);
        return;
      }
      const focused = drawing.contains(document.activeElement);
      drawing.replaceChildren(...page.body.childNodes);
      show(readRows(drawing));
      if (focused) drawing.querySelector("[data-framing]").focus({ preventScroll: true });
    } catch (error) {
      if (error.name !== "AbortError") tell(chosen, "No connection: the drawing is that of before.");
    }
  };
  const show = (found) => {
    const same = found.find((piece) => piece.group === chosen?.group && piece.name === chosen?.name);
    pieces = found.filter((piece) => piece.group !== "Photos");
    setUp();
    pins();
    if (!chosen) return;
    const was = held, note = said;
    held = false;
    choose(same ?? null);
    held = was && Boolean(same);
    if (same) tell(same, note);
  };
  const setUp = () => {
    const box = drawing.querySelector("[data-framing]");
    box.tabIndex = 0;
    box.setAttribute("role", "application");
    box.setAttribute("aria-label", "Framing. Arrow keys go from piece to piece, Enter takes hold of one that moves.");
    box.addEventListener("keydown", onKey);
  };

  const begin = async () => {
    const answer = await fetch(document.querySelector("[data-pieces]").href);
    if (!answer.ok) return;
    const found = readRows(new DOMParser().parseFromString(await answer.text(), "text/html"));
    photos = found.filter((piece) => piece.group === "Photos");
    show(found);
    choose(null);
    nudge.hidden = !form;
    drawing.addEventListener("pointerdown", onDown);
    drawing.addEventListener("pointermove", onMove);
    drawing.addEventListener("pointerup", onUp);
    drawing.addEventListener("pointercancel", () => { drag = null; });
    drawing.addEventListener("pointerleave", leave);
    for (const button of nudge.querySelectorAll("button")) button.addEventListener("click", () => byStep(button.dataset.nudge));
    form?.addEventListener("input", () => { clearTimeout(waiting); waiting = setTimeout(redraw, 250); });
  };
  begin();
}
