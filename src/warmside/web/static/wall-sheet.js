// The sheet that a wall is drawn on: where things lie, what is laid over it, how near one looks.
// Looking nearer makes the sheet wider inside its frame, which scrolls as anything else does: one
// finger goes on scrolling the page where the sheet ends.

const SVG = "http://www.w3.org/2000/svg";
const NEAREST = 6;
const drawing = document.querySelector("[data-drawing]");
const over = document.createElementNS(SVG, "svg");
over.setAttribute("class", "over");
over.setAttribute("aria-hidden", "true");
let zoom = 1;

export const frame = () => drawing.querySelector("[data-framing]");
const sheet = () => drawing.querySelector("[data-sheet]");
const shown = () => [...drawing.querySelectorAll(".elevation svg")].find((svg) => svg.getClientRects().length);

const plane = () => {
  const [scale, left, bottom] = shown().dataset.plane.split(" ").map(Number);
  return { scale, left, bottom };
};

// Metres of the wall that a pixel of the screen is, and user units likewise
const perPixel = () => 1 / shown().getScreenCTM().a;
export const metres = (pixels) => pixels * perPixel() / plane().scale;

export const placeOf = (x, y) => {
  const { scale, left, bottom } = plane(), point = new DOMPoint(x, y).matrixTransform(shown().getScreenCTM().inverse());
  return { x: (point.x - left) / scale, z: (bottom - point.y) / scale };
};

// Stretch of the wall that is in sight [m]
export const inSight = () => {
  const box = frame().getBoundingClientRect();
  return [placeOf(box.left, box.top).x, placeOf(box.right, box.top).x];
};

const add = (name, attributes) => {
  const made = document.createElementNS(SVG, name);
  for (const [key, value] of Object.entries(attributes)) made.setAttribute(key, value);
  over.append(made);
  return made;
};
const clear = (kind) => { for (const old of over.querySelectorAll(`.${kind}`)) old.remove(); };

// What is drawn over the sheet stays one and the same element while it moves: a finger that holds it
// would lose one that is drawn anew.
const only = (key, name, attributes) => {
  const there = over.querySelector(`[data-over="${key}"]`);
  if (!there) return add(name, { "data-over": key, ...attributes });
  for (const [attribute, value] of Object.entries(attributes)) there.setAttribute(attribute, value);
  return there;
};
const without = (key) => over.querySelector(`[data-over="${key}"]`)?.remove();

export const markRect = (key, at, kind = key) => {
  if (!at || !shown()) { without(key); return; }
  const { scale, left, bottom } = plane(), [x0, z0, x1, z1] = at;
  only(key, "rect", {
    class: kind, x: left + x0 * scale - 1, y: bottom - z1 * scale - 1,
    width: Math.max(0, x1 - x0) * scale + 2, height: Math.max(0, z1 - z0) * scale + 2,
  });
};

// Grips at the four sides, outside the piece so that a thumb does not cover it
export const grips = (at) => {
  if (!at || !shown()) {
    for (const side of ["left", "right", "top", "foot"]) { without(`reach ${side}`); without(`grip ${side}`); }
    return;
  }
  const { scale, left, bottom } = plane(), px = perPixel(), [x0, z0, x1, z1] = at, off = 17 * px;
  const x = left + (x0 + x1) / 2 * scale, y = bottom - (z0 + z1) / 2 * scale;
  const sides = {
    left: [left + x0 * scale - off, y], right: [left + x1 * scale + off, y],
    top: [x, bottom - z1 * scale - off], foot: [x, bottom - z0 * scale + off],
  };
  for (const [side, [cx, cy]] of Object.entries(sides)) {
    only(`grip ${side}`, "circle", { class: "grip", "data-grip": side, cx, cy, r: 8 * px });
    only(`reach ${side}`, "circle", { class: "grip reach", "data-grip": side, cx, cy, r: 22 * px });
  }
};

export const levelWith = (found) => {
  clear("stand");
  if (!shown()) return;
  const { scale, left, bottom } = plane(), { width, height } = over.viewBox.baseVal;
  for (const [axis, at] of found) {
    const x = left + at * scale, y = bottom - at * scale;
    add("line", axis === "x" ? { class: "stand", x1: x, x2: x, y1: 0, y2: height } : { class: "stand", x1: 0, x2: width, y1: y, y2: y });
  }
};

export const pins = (photos) => {
  clear("pin");
  if (!shown()) return;
  const { scale, left, bottom } = plane();
  for (const { at: [x0, z0, x1, z1], name } of photos) {
    const x = left + (x0 + x1) / 2 * scale, y = bottom - (z0 + z1) / 2 * scale;
    add("circle", { class: "pin", cx: x, cy: y, r: 9 });
    add("text", { class: "pin", x, y: y + 4, "text-anchor": "middle", "font-size": 11 }).textContent = name.replace("photo ", "");
  }
};

// A drawing that came takes the place of the one before; what lies over it stays.
export const put = (page) => {
  const now = page.querySelector("[data-framing]");
  if (!frame()) { drawing.replaceChildren(...page.body.childNodes); return; }
  for (const size of ["wide", "small"]) {
    const kind = `.elevation.${size}`;
    sheet().querySelector(kind).replaceChildren(...now.querySelector(kind).childNodes);
  }
  frame().dataset.stands = now.dataset.stands;
  while (frame().nextSibling) frame().nextSibling.remove();
  now.remove();
  drawing.append(...page.body.childNodes);
  lay();
};
export const lay = () => {
  if (!shown()) return;
  over.setAttribute("viewBox", shown().getAttribute("viewBox"));
  sheet().append(over);
};

// Nearer and farther, the point under the hand staying where it is

export const nearness = () => zoom;
export const look = (to, clientX, clientY) => {
  const box = frame(), now = Math.min(NEAREST, Math.max(1, to));
  if (Math.abs(now - zoom) < 1e-3) return;
  const edge = box.getBoundingClientRect();
  const x = (clientX ?? edge.left + edge.width / 2) - edge.left, y = (clientY ?? edge.top + edge.height / 2) - edge.top;
  const kept = [(box.scrollLeft + x) / zoom, (box.scrollTop + y) / zoom];
  if (zoom === 1) box.style.height = `${edge.height}px`;
  zoom = now;
  sheet().style.width = `${zoom * 100}%`;
  box.classList.toggle("near", zoom > 1);
  if (zoom === 1) box.style.height = "";
  box.scrollLeft = kept[0] * zoom - x;
  box.scrollTop = kept[1] * zoom - y;
};
export const shift = (x, y) => { frame().scrollLeft -= x; frame().scrollTop -= y; };

// The sheet has the keyboard, and is in sight
export const goTo = () => {
  frame().focus({ preventScroll: true });
  frame().scrollIntoView({ block: "nearest" });
};

// A piece that the keyboard goes to is brought into sight
export const bring = (at) => {
  if (zoom === 1 || !shown()) return;
  const box = frame().getBoundingClientRect(), { scale, left, bottom } = plane(), to = shown().getScreenCTM();
  const x = to.e + (left + (at[0] + at[2]) / 2 * scale) * to.a, y = to.f + (bottom - (at[1] + at[3]) / 2 * scale) * to.d;
  if (x < box.left || x > box.right) frame().scrollLeft += x - (box.left + box.right) / 2;
  if (y < box.top || y > box.bottom) frame().scrollTop += y - (box.top + box.bottom) / 2;
};
