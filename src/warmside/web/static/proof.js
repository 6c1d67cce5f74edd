// Mark the corners of a wall in its thermal picture; without scripts the table of numbers says the same.
"use strict";

for (const form of document.querySelectorAll("form[data-marks]")) {
  const svg = form.querySelector("[data-plane]"), outline = svg.querySelector(".outline");
  const [, , wide, high] = svg.getAttribute("viewBox").split(" ").map(Number);
  const rows = [...form.querySelectorAll("[data-mark]")];
  const made = (name, values) => {
    const node = document.createElementNS("http://www.w3.org/2000/svg", name);
    for (const [key, value] of Object.entries(values)) node.setAttribute(key, value);
    return node;
  };
  const within = (value, most) => Math.max(-most / 2, Math.min(1.5 * most, Math.round(value * 10) / 10));

  const marks = rows.map((row, n) => {
    const [column, line] = row.querySelectorAll("input");
    const size = Math.max(wide, high) / 40;
    const handle = made("g", { class: "corner", tabindex: 0, role: "button", "aria-label": `${n + 1}: ${row.dataset.mark} corner, moved by arrow keys` });
    handle.append(made("circle", { r: size }), made("path", { d: `M${-size} 0H${size}M0 ${-size}V${size}` }));
    const label = made("text", { x: size * 1.2, y: -size * 0.4, "font-size": size * 1.3 });
    label.textContent = n + 1;
    handle.append(label);
    svg.append(handle);
    const put = (x, y) => { column.value = within(x, wide); line.value = within(y, high); draw(); };
    const place = () => [Number(column.value) || 0, Number(line.value) || 0];
    handle.addEventListener("keydown", (event) => {
      const step = event.shiftKey ? 10 : 1, [x, y] = place();
      const moves = { ArrowLeft: [-step, 0], ArrowRight: [step, 0], ArrowUp: [0, -step], ArrowDown: [0, step] };
      if (!moves[event.key]) return;
      event.preventDefault();
      put(x + moves[event.key][0], y + moves[event.key][1]);
    });
    handle.addEventListener("pointerdown", (event) => { handle.setPointerCapture(event.pointerId); event.preventDefault(); handle.focus(); });
    handle.addEventListener("pointermove", (event) => {
      if (!handle.hasPointerCapture(event.pointerId)) return;
      const at = new DOMPoint(event.clientX, event.clientY).matrixTransform(svg.getScreenCTM().inverse());
      put(at.x, at.y);
    });
    for (const field of [column, line]) field.addEventListener("input", () => draw());
    return { handle, place };
  });

  function draw() {
    const places = marks.map((mark) => mark.place());
    places.forEach(([x, y], n) => marks[n].handle.setAttribute("transform", `translate(${x} ${y})`));
    outline.setAttribute("points", places.map((place) => place.join(",")).join(" "));
  }
  draw();

  // rectangles that show no wall: dragged over the picture, or typed
  const painted = svg.querySelector("[data-regions]");
  const areas = [...form.querySelectorAll("[data-region]")];
  const sides = (row) => [...row.querySelectorAll("input")];
  const paint = () => {
    painted.replaceChildren();
    for (const row of areas) {
      const texts = sides(row).map((field) => field.value.trim()), [left, top, right, bottom] = texts.map(Number);
      if (texts.includes("") || !(left < right && top < bottom)) continue;
      painted.append(made("rect", { class: "region", x: left, y: top, width: right - left, height: bottom - top }));
      const size = Math.max(wide, high) / 45, name = made("text", { class: "region-name", x: left + size / 2, y: top + 1.2 * size, "font-size": size });
      name.textContent = row.querySelector("select").value;
      painted.append(name);
    }
  };
  for (const row of areas) row.addEventListener("input", paint);
  for (const drag of form.parentElement.querySelectorAll("[data-drag]")) drag.hidden = false;
  const at = (event) => new DOMPoint(event.clientX, event.clientY).matrixTransform(svg.getScreenCTM().inverse());
  let from = null, row = null;
  svg.addEventListener("pointerdown", (event) => {
    if (event.target.closest(".corner")) return;
    row = areas.find((one) => sides(one).every((field) => !field.value.trim()));
    if (!row) return;
    from = at(event);
    svg.setPointerCapture(event.pointerId);
    event.preventDefault();
  });
  svg.addEventListener("pointermove", (event) => {
    if (!from) return;
    const to = at(event), [x, y] = [[from.x, to.x], [from.y, to.y]].map((pair) => pair.sort((a, b) => a - b));
    const values = [within(x[0], wide), within(y[0], high), within(x[1], wide), within(y[1], high)];
    sides(row).forEach((field, n) => { field.value = values[n]; });
    paint();
  });
  for (const end of ["pointerup", "pointercancel"]) svg.addEventListener(end, () => {
    if (!from) return;
    const [left, top, right, bottom] = sides(row).map((field) => Number(field.value));
    if (right - left < 2 || bottom - top < 2) for (const field of sides(row)) field.value = "";  // a tap is no rectangle
    from = row = null;
    paint();
  });
  paint();
}
