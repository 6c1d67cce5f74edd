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
}
