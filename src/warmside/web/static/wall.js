// The elevation of a wall: read its pieces by pointer, finger or keyboard; put in, move, size and
// take out what stands in it. All of it fills the form in; only the form's own button saves. Without
// scripts the list of pieces and the form do the same.

import { DragGesture, PinchGesture } from "./gestures.js";
import { addRow, changed, field, form, freeName, isIn, keepSteps, keyOf, labelled, remember, rememberSoon, step, takeOut, valuesOf } from "./wall-form.js";
import * as sheet from "./wall-sheet.js";

const ORDER = ["Photos", "Boxes and pipes", "Windows and doors", "Inside walls", "Members", "Joints", "Pockets", "Bays"];
const GROUPS = { opening: "Windows and doors", partition: "Inside walls", box: "Boxes and pipes", pipe: "Boxes and pipes" };
const HALF = 0.05; // [m] of the mark round a point
const STOREY = 2.4; // [m] of an inside wall until it is drawn
const APART = 0.15; // [m] between two openings, with the studs at their sides
const drawing = document.querySelector("[data-drawing]");
const reading = document.querySelector("[data-reading]");
const tools = document.querySelector("[data-tools]"), hand = document.querySelector("[data-hand]");
const measures = hand.querySelector("[data-measures]");
const grid = Number(document.documentElement.dataset.step);
let pieces = [], photos = [], chosen = null, pose = null, held = "", before = null, said = "", refused = false;
let pressed = null, pinching = false;
const waiting = new Map(); // pieces put in that no drawing has shown yet, by their row

// Pieces, from the list's rows

const FIELDS = ["x", "z", "wide", "high"];
const readRows = (root) => [...root.querySelectorAll("tr[data-at]")].map((row) => ({
  group: row.parentElement.dataset.group,
  name: row.cells[0].textContent,
  words: row.cells[1].textContent,
  at: row.dataset.at.split(",").map((mm) => mm / 1000),
  row: row.dataset.row ?? null, per: Number(row.dataset.per ?? 1),
  fields: Object.fromEntries(FIELDS.filter((what) => row.dataset[what]).map((what) => [what, { name: row.dataset[what], now: Number(row.dataset[`${what}Now`]) }])),
}));
const moves = (piece) => Boolean(piece && field(piece.fields.x?.name));
const sizes = (piece) => moves(piece) && Boolean(piece.fields.wide);
const poseOf = (piece) => Object.fromEntries(Object.entries(piece.fields).map(([what, { now }]) => [what, now]));

// Where a piece lies as it is held now
const spot = (piece, by = pose) => {
  if (!by || piece !== chosen) return piece.at;
  const { fields } = piece, off = (what) => (fields[what] ? by[what] - fields[what].now : 0);
  const dx = off("x") * piece.per, dz = off("z"), [x0, z0, x1, z1] = piece.at;
  return [x0 + dx, z0 + dz, x1 + dx + off("wide"), z1 + dz + off("high")];
};
const distance = ([x0, z0, x1, z1], { x, z }) => Math.hypot(Math.max(x0 - x, 0, x - x1), Math.max(z0 - z, 0, z - z1));
const thin = (piece) => ["Joints", "Photos", "Boxes and pipes"].includes(piece.group);
const under = (place, near) => [...photos, ...pieces]
  .filter((piece) => distance(spot(piece), place) <= (thin(piece) ? near : 1e-6))
  .sort((a, b) => ORDER.indexOf(a.group) - ORDER.indexOf(b.group) || distance(spot(a), place) - distance(spot(b), place));
const reach = (event) => sheet.metres(event.pointerType === "touch" ? 12 : 6);

// Showing

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
const hint = (piece) => {
  if (!moves(piece)) return "";
  if (held === "size") return "Arrows draw its right side and its top; S goes back to moving, Enter lets go, Escape puts it back.";
  if (held) return `Arrows move it, Home, End and Page keys to the next line it can stand by;${sizes(piece) ? " S changes its size;" : ""} Enter lets go, Escape puts it back.`;
  return `It can be moved${sizes(piece) ? " and sized" : ""}: drag it, or press Enter.`;
};
const mark = () => {
  const at = chosen && spot(chosen), kind = `chosen-piece${moves(chosen) ? " hold" : ""}${refused ? " refused" : ""}`;
  sheet.markRect("chosen-piece", at, kind);
  sheet.grips(sizes(chosen) ? at : null);
};

// The fields of the piece in hand, beside the drawing: typed here, they are typed in the form

const sameField = (one) => {
  const cell = document.createElement("div"), label = document.createElement("label"), twin = one.cloneNode(true);
  cell.className = "field";
  twin.removeAttribute("name");
  for (const name of ["aria-describedby", "aria-required"]) twin.removeAttribute(name);
  twin.id = `hand-${one.id}`;
  twin.value = one.value;
  label.htmlFor = twin.id;
  label.textContent = form.querySelector(`label[for="${CSS.escape(one.id)}"]`).firstChild.textContent;
  const pass = () => { one.value = twin.value; changed(); };
  twin.addEventListener("input", pass);
  twin.addEventListener("change", () => { pass(); remember(); });
  twin.dataset.twin = one.name;
  cell.append(label, twin);
  return cell;
};
const twins = () => measures.querySelectorAll("[data-twin]");
const takeInHand = (piece) => {
  const can = moves(piece), was = hand.dataset.of, now = can ? piece.row || piece.fields.x.name : "";
  hand.hidden = !can;
  hand.dataset.of = now;
  for (const button of hand.querySelectorAll("[data-more], [data-out]")) button.hidden = !(can && keyOf(piece.row) in GROUPS);
  for (const button of hand.querySelectorAll("[data-nudge]"))
    button.disabled = ["up", "down"].includes(button.dataset.nudge) && !piece?.fields.z;
  if (!can) { measures.replaceChildren(); return; }
  if (was !== now || !twins().length) measures.replaceChildren(...(piece.row ? labelled(piece.row) : [field(piece.fields.x.name)]).map(sameField));
  for (const twin of twins()) if (twin !== document.activeElement) twin.value = field(twin.dataset.twin).value;
};

const choose = (piece) => {
  if (held) letGo();
  chosen = piece;
  pose = moves(piece) ? poseOf(piece) : null;
  refused = false;
  mark();
  sheet.levelWith([]);
  if (piece) sheet.bring(piece.at);
  tell(piece, hint(piece));
  takeInHand(piece);
};

// Moving and sizing: the form's fields are what is changed, the mark shows where to

const fill = () => {
  for (const what of FIELDS) {
    const into = chosen.fields[what] && field(chosen.fields[what].name);
    if (into && lengthText(Math.max(0, pose[what])) !== lengthText(before[what])) into.value = lengthText(Math.max(0, pose[what]));
    else if (into && before.texts[what] !== undefined) into.value = before.texts[what];
  }
  for (const twin of twins()) twin.value = field(twin.dataset.twin).value;
  mark();
  changed();
};
const grasp = () => {
  const texts = Object.fromEntries(Object.entries(chosen.fields).map(([what, { name }]) => [what, field(name).value]));
  before = { ...pose, texts };
};
const words = () => {
  const at = ["x", "z"].map((what) => chosen.fields[what] && field(chosen.fields[what].name).value);
  const size = ["wide", "high"].map((what) => chosen.fields[what] && field(chosen.fields[what].name).value);
  return `Now ${at[0]}${at[1] ? `, ${at[1]} up` : ""}${size[0] ? `; ${size[0]} wide, ${size[1]} high` : ""}`;
};
const poseTo = (to, lines = []) => {
  const least = 0.05;
  if (to.wide !== undefined && (to.wide < least || to.high < least)) return;
  pose = { ...pose, ...to };
  sheet.levelWith(lines);
  fill();
  tell(chosen, `${words()}${lines.length ? `, by the ${lines.map(([, , what]) => what).join(" and the ")}` : ""}. Not saved yet.`);
};

// Sides of the piece that go along with a hand on `side`, by axis [m]
const sidesOf = (at, side, axis) => {
  const [low, high] = axis === "x" ? [at.x, at.x + (at.wide ?? 0)] : [at.z, at.z + (at.high ?? 0)];
  if (side === "move") return sizes(chosen) ? (axis === "x" ? [low, (low + high) / 2, high] : [low, high]) : [low];
  return { left: axis === "x" ? [low] : [], right: axis === "x" ? [high] : [], foot: axis === "z" ? [low] : [], top: axis === "z" ? [high] : [] }[side];
};
const lines = (axis) => JSON.parse(sheet.frame().dataset.stands).filter(([of, , , row]) => of === axis && (!row || row !== chosen?.row));
const shifted = (from, side, dx, dz) => {
  const up = from.z === undefined ? undefined : from.z + dz;
  return {
    move: { x: from.x + dx / chosen.per, ...(up === undefined ? {} : { z: up }) },
    left: { x: from.x + dx, wide: from.wide - dx }, right: { wide: from.wide + dx },
    foot: { z: up, high: from.high - dz }, top: { high: from.high + dz },
  }[side];
};
// How far to go so that a side stands by a line within `near`, and that line
const snap = (from, side, axis, by, near) => {
  const found = chosen.row === "" ? [] : lines(axis).flatMap((line) => sidesOf(from, side, axis).map((at) => [line[1] - at, line]))
    .filter(([go]) => Math.abs(go - by) <= near).sort((a, b) => Math.abs(a[0] - by) - Math.abs(b[0] - by));
  return found[0] ?? [Math.round(by / grid) * grid, null];
};
const drag = (from, side, dx, dz, near) => {
  const [x, lineX] = snap(from, side, "x", dx, near), [z, lineZ] = from.z === undefined ? [0, null] : snap(from, side, "z", dz, near);
  const across = !["top", "foot"].includes(side), up = !["left", "right"].includes(side);
  poseTo(shifted(from, side, across ? x : 0, up ? z : 0), [across && lineX, up && lineZ].filter(Boolean));
};

const takeHold = (how = "move") => {
  if (!moves(chosen)) return;
  if (!held) grasp();
  held = how;
  tell(chosen, hint(chosen));
};
const letGo = () => {
  held = "";
  sheet.levelWith([]);
  tell(chosen, "Not saved yet: Save the wall keeps it.");
  remember();
};
const putBack = () => {
  const { texts, ...was } = before;
  held = "";
  pose = was;
  for (const [what, text] of Object.entries(texts)) field(chosen.fields[what].name).value = text;
  for (const twin of twins()) twin.value = field(twin.dataset.twin).value;
  sheet.levelWith([]);
  mark();
  changed();
  tell(chosen, hint(chosen));
};
const DIRECTION = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1],
  left: [-1, 0], right: [1, 0], up: [0, 1], down: [0, -1], Home: [-1, 0], End: [1, 0], PageUp: [0, 1], PageDown: [0, -1] };
const handOf = (name) => (held === "size" ? (DIRECTION[name][0] ? "right" : "top") : "move");
const byStep = (name, times = 1) => {
  if (!held) grasp();
  const [x, z] = DIRECTION[name].map((n) => n * grid * times);
  poseTo(shifted(pose, handOf(name), x, z));
};
// On to the next line in a direction that one of its sides can stand by
const toLine = (name) => {
  const [x, z] = DIRECTION[name], axis = x ? "x" : "z", way = x || z;
  if (chosen.row === "" || pose[axis] === undefined) return;
  const found = lines(axis).flatMap((line) => sidesOf(pose, handOf(name), axis).map((at) => [line[1] - at, line]))
    .filter(([go]) => go * way > 1e-3).sort((a, b) => Math.abs(a[0]) - Math.abs(b[0]))[0];
  if (found) poseTo(shifted(pose, handOf(name), x ? found[0] : 0, z ? found[0] : 0), [found[1]]);
};

// Putting in and taking out

// The place nearest to `wish` where a piece so wide meets no opening, inside wall or box
const freePlace = (wish, wide, z0, z1) => {
  const clear = (x) => !pieces.some(({ group, at: [a0, b0, a1, b1] }) => {
    const apart = { "Windows and doors": APART, "Inside walls": APART, "Boxes and pipes": 0.01 }[group] ?? -Infinity;
    return x < a1 + apart && a0 - apart < x + wide && z0 < b1 && b0 < z1;
  });
  const [end] = lines("x").filter(([, , what]) => what === "right end").map(([, at]) => at);
  const tries = Array.from({ length: Math.max(1, Math.floor((end - wide) / grid)) }, (_, n) => n * grid).filter(clear);
  return tries.sort((a, b) => Math.abs(a - wish) - Math.abs(b - wish))[0] ?? Math.max(0, Math.min(wish, end - wide));
};
const putIn = ({ row: key, fields, x, z, wide, high, up }, wish) => {
  const whole = key === "partition" ? 99 : up + (high || 2 * HALF), low = key === "partition" ? 0 : up;
  const left = freePlace(wish, wide, low, whole);
  const named = fields.name ? { name: freeName(key, fields.name) } : {};
  const row = addRow(key, { ...fields, ...named, [x]: lengthText(left) });
  const piece = { group: GROUPS[key], name: named.name ?? `new ${fields.kind ?? "inside wall"}`, words: "put in just now", row, per: 1, fields: { x: { name: `${row}.${x}`, now: left } },
    at: wide ? [left, up, left + wide, up + high] : [left - HALF, z ? up - HALF : 0, left + HALF, z ? up + HALF : STOREY] };
  if (z) piece.fields.z = { name: `${row}.${z}`, now: up };
  if (wide) Object.assign(piece.fields, { wide: { name: `${row}.width`, now: wide }, high: { name: `${row}.height`, now: high } });
  held = "";
  waiting.set(row, piece);
  pieces = [piece, ...pieces];
  choose(piece);
  changed();
  remember();
  sheet.goTo();
};
const oneMore = () => {
  const { row, fields } = chosen, key = keyOf(row), [x0, z0, x1] = spot(chosen);
  const at = Object.fromEntries(Object.entries(fields).map(([what, { name }]) => [what, name.slice(row.length + 1)]));
  putIn({ row: key, fields: valuesOf(row), x: at.x, z: at.z ?? "", wide: pose.wide ?? 0, high: pose.high ?? 0, up: pose.z ?? z0 }, x1 + (pose.wide ? APART : 0.4));
};
const out = () => {
  const { row, name } = chosen;
  held = "";
  takeOut(row);
  waiting.delete(row);
  pieces = pieces.filter((piece) => piece.row !== row);
  choose(null);
  tell(null, `${name} is taken out. Not saved yet; Undo brings it back.`);
  changed();
  remember();
  sheet.goTo();
};
const takeBack = (by) => {
  if (held) letGo();
  if (step(by)) tell(chosen, by < 0 ? "Taken back." : "Done again.");
};

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
const canGo = () => moves(chosen) && keyOf(chosen.row) in GROUPS;
const LOOK = { "+": () => sheet.look(sheet.nearness() * 1.5), "-": () => sheet.look(sheet.nearness() / 1.5), 0: () => sheet.look(1) };
const KEYS = {
  ArrowRight: () => next(1), ArrowLeft: () => next(chosen ? -1 : 0), ArrowDown: () => nextGroup(1),
  ArrowUp: () => nextGroup(chosen ? -1 : 0), Enter: () => takeHold(), " ": () => takeHold(), Escape: () => choose(null), ...LOOK,
};
const HELD = { Enter: letGo, " ": letGo, Escape: putBack, s: () => { if (sizes(chosen)) takeHold(held === "size" ? "move" : "size"); },
  Home: () => toLine("Home"), End: () => toLine("End"), PageUp: () => toLine("PageUp"), PageDown: () => toLine("PageDown"), ...LOOK };
const redone = (event) => event.key.toLowerCase() === "y" || (event.shiftKey && event.key.toLowerCase() === "z");
const onKey = (event) => {
  const { key } = event;
  if ((event.ctrlKey || event.metaKey) && form && "zy".includes(key.toLowerCase())) {
    event.preventDefault();
    takeBack(redone(event) ? 1 : -1);
    return;
  }
  if (event.ctrlKey || event.metaKey || event.altKey) return;
  let done = (held ? HELD : KEYS)[key];
  if (held && key.startsWith("Arrow")) done = () => byStep(key, event.shiftKey ? 10 : 1);
  if (["Delete", "Backspace"].includes(key) && canGo()) done = out;
  if (!done) return;
  event.preventDefault();
  done();
};

// Pointer and fingers

const photoHere = ({ x, z }) => {
  const link = document.querySelector("[data-photo-here]"), address = new URL(link.href);
  address.searchParams.set("x", lengthText(Math.max(0, x)));
  address.searchParams.set("z", lengthText(Math.max(0, z)));
  link.href = address;
  link.textContent = "Add a photo at the place tapped";
};
const press = (event) => {
  const place = sheet.placeOf(event.clientX, event.clientY), found = under(place, reach(event));
  const side = event.target.dataset?.grip ?? "", keeps = Boolean(side) || found.includes(chosen);
  pressed = { place, found, side, keeps, touch: event.pointerType === "touch", grabbed: keeps && moves(chosen) ? chosen : found[0] };
};
const tap = () => {
  photoHere(pressed.place);
  // a second tap on the same place goes on to what lies beneath
  const at = pressed.found.indexOf(chosen);
  if (!pressed.side) choose(pressed.found[(at + 1) % pressed.found.length] ?? null);
};
const onDrag = ({ first, last, tap: tapped, xy, delta, event, cancel }) => {
  if (!pressed) return;
  if (tapped) { tap(); pressed = null; return; }
  if (pinching || (pressed.touch && !pressed.keeps)) { pressed = null; cancel(); return; }
  if (first && !moves(pressed.grabbed)) pressed.grabbed = null;
  if (!pressed.grabbed) { sheet.shift(...delta); return; }
  if (!pressed.from) {
    if (chosen !== pressed.grabbed) choose(pressed.grabbed);
    grasp();
    pressed.from = { ...pose };
    sheet.markRect("pointed-piece", null);
  }
  const { x, z } = sheet.placeOf(...xy);
  drag(pressed.from, pressed.side || "move", x - pressed.place.x, z - pressed.place.z, event.altKey ? 0 : reach(event));
  if (last) { pressed = null; letGo(); }
};
const onPinch = ({ first, last, event, origin: [x, y], movement: [scale], memo = sheet.nearness() }) => {
  if (event.cancelable) event.preventDefault();
  pinching = !last;
  if (first && held) letGo();
  sheet.look(memo * scale, x, y);
  return memo;
};
const hover = (event) => {
  if (event.pointerType === "touch" || held || pressed) return;
  const over = event.type === "pointermove" ? under(sheet.placeOf(event.clientX, event.clientY), reach(event))[0] : null;
  sheet.markRect("pointed-piece", over ? spot(over) : null);
  tell(over ?? chosen, hint(over ?? chosen));
};

// The drawing follows the form while it is being filled in

let soon = 0, asking = false, again = false;
const tellBusy = () => sheet.frame()?.setAttribute("aria-busy", Boolean(soon || asking || again));
const redraw = async () => {
  soon = 0;
  if (asking) { again = true; return; }
  asking = true;
  try {
    const body = new URLSearchParams(new FormData(form));
    const answer = await fetch(form.dataset.draw, { method: "POST", body });
    const page = new DOMParser().parseFromString(await answer.text(), "text/html");
    refused = !answer.ok;
    if (answer.ok) {
      const found = readRows(page), first = !sheet.frame();
      sheet.put(page);
      if (first) setUp();
      show(found);
    } else {
      const faults = [...page.querySelectorAll(".told li")].map((li) => li.textContent).join(" ");
      tell(chosen, `Not drawn yet: ${faults || page.querySelector("h1")?.textContent}`);
      mark();
    }
  } catch { tell(chosen, "No connection: the drawing is that of before."); }
  asking = false;
  if (again) { again = false; redraw(); }
  tellBusy();
};
const show = (found) => {
  for (const [row, piece] of waiting) if (found.some((one) => one.row === row) || !isIn(row)) waiting.delete(row); else found.unshift(piece);
  const same = found.find((piece) => (chosen?.row ? piece.row === chosen.row : piece.group === chosen?.group && piece.name === chosen?.name));
  pieces = found.filter((piece) => piece.group !== "Photos");
  sheet.pins(photos);
  if (!chosen || photos.includes(chosen)) { mark(); return; }
  const busy = held || pressed?.from, note = said;
  if (same) {
    chosen = same;
    if (!busy && moves(same)) pose = poseOf(same);
    mark();
    takeInHand(same);
    tell(same, note);
  } else if (!busy) choose(null);
};

const setUp = () => {
  const box = sheet.frame();
  sheet.lay();
  box.tabIndex = 0;
  box.setAttribute("role", "application");
  box.setAttribute("aria-label", "Framing. Arrow keys go from piece to piece, Enter takes hold of one that moves, plus and minus look nearer and farther.");
  box.addEventListener("keydown", onKey);
  box.addEventListener("pointerdown", (event) => { if (!event.button && event.isPrimary) press(event); }, true);
  box.addEventListener("pointermove", hover);
  box.addEventListener("pointerleave", hover);
  new DragGesture(box, onDrag, { filterTaps: true, pointer: { capture: false, keys: false } });
  new PinchGesture(box, onPinch, { pointer: { touch: true }, eventOptions: { passive: false } });
};
const setUpTools = () => {
  tools.hidden = false;
  for (const button of tools.querySelectorAll("[data-zoom]"))
    button.addEventListener("click", () => sheet.look(Number(button.dataset.zoom) ? sheet.nearness() * button.dataset.zoom : 1));
  if (!form) return;
  const [back, forth] = ["[data-back]", "[data-forth]"].map((what) => tools.querySelector(what));
  keepSteps((can) => { back.disabled = !can.back; forth.disabled = !can.forth; });
  back.addEventListener("click", () => takeBack(-1));
  forth.addEventListener("click", () => takeBack(1));
  for (const button of tools.querySelectorAll("[data-part]")) {
    const part = JSON.parse(button.dataset.part);
    button.addEventListener("click", () => { const [x0, x1] = sheet.inSight(); putIn(part, (x0 + x1 - part.wide) / 2); });
  }
  for (const button of hand.querySelectorAll("[data-nudge]")) button.addEventListener("click", () => { byStep(button.dataset.nudge); rememberSoon(); });
  hand.querySelector("[data-more]").addEventListener("click", oneMore);
  hand.querySelector("[data-out]").addEventListener("click", out);
  form.addEventListener("input", () => { soon ||= setTimeout(redraw, 60); tellBusy(); });
};

const begin = async () => {
  const answer = await fetch(document.querySelector("[data-pieces]").href);
  if (answer.ok && sheet.frame()) {
    const found = readRows(new DOMParser().parseFromString(await answer.text(), "text/html"));
    photos = found.filter((piece) => piece.group === "Photos");
    setUp();
    show(found);
    choose(null);
  }
  setUpTools();
  addEventListener("resize", () => { sheet.lay(); sheet.pins(photos); mark(); });
};
begin();
