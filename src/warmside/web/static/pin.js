// Pin a photo by tapping the elevation of its wall; without scripts two numbers say the same.
"use strict";

for (const form of document.querySelectorAll("form[data-pin]")) {
  const { wall, x, z } = form.elements, figure = form.querySelector("[data-pin-on]");
  const note = form.querySelector("[data-tap]");
  let svg = null;

  const plane = () => {
    const [scale, left, bottom] = svg.dataset.plane.split(" ").map(Number);
    return { scale, left, bottom };
  };
  const pin = (u, v) => {
    const made = document.createElementNS("http://www.w3.org/2000/svg", "circle");
    for (const [key, value] of Object.entries({ class: "pin", cx: u, cy: v, r: 8 })) made.setAttribute(key, value);
    svg.querySelector(".pin")?.remove();
    svg.append(made);
  };
  const tapped = (event) => {
    const { scale, left, bottom } = plane();
    const at = new DOMPoint(event.clientX, event.clientY).matrixTransform(svg.getScreenCTM().inverse());
    x.value = lengthText(Math.max(0, (at.x - left) / scale));
    z.value = lengthText(Math.max(0, (bottom - at.y) / scale));
    pin(at.x, at.y);
  };
  const draw = async () => {
    const address = wall.selectedOptions[0].dataset.elevation;
    figure.hidden = note.hidden = true;
    if (!address) return;
    const answer = await fetch(address);
    if (!answer.ok) return;
    const drawn = new DOMParser().parseFromString(await answer.text(), "image/svg+xml").documentElement;
    svg = document.importNode(drawn, true);
    svg.addEventListener("click", tapped);
    figure.replaceChildren(svg);
    figure.hidden = note.hidden = false;
  };
  wall.addEventListener("change", draw);
  const closed = form.closest("details");
  if (closed) closed.addEventListener("toggle", () => { if (closed.open && !svg) draw(); });
  else draw();
}
