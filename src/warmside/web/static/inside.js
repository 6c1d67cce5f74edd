// Inside a wall: turned, taken apart from the room outwards, every face in the colour of its computed
// temperature. The drawing library is fetched when somebody asks to look. What the picture shows
// stands in a table too, which is all there is where a browser cannot draw it.

const section = document.querySelector("[data-inside]");
const find = (what) => section.querySelector(what);
const canvas = find("canvas"), said = find("[data-inside-said]");
const slider = find("#inside-open"), outdoors = find("#inside-outdoors");
const words = JSON.parse(section.dataset.words), ways = JSON.parse(section.dataset.script), room = Number(section.dataset.room);
const TONES = [[16, 42, 67], [43, 93, 138], [140, 142, 148], [226, 150, 92], [255, 231, 204]];
const COLDEST = -35, WARMEST = 25, STEPS = 600, LEVELS = 65534, NOTHING = 255;
const FIELD = 35; // [deg] of the camera, top to bottom
const walls = new Map(); // what was fetched, by option
let view = null, wall = null;

const temperature = (celsius) => quantityText(celsius, ways.temperature, ways.locale);
const says = (name, parts) => Object.entries(parts).reduce((text, [key, part]) => text.replace(`{${key}}`, part), words[name]);
const degrees = (factor) => Number(outdoors.value) + (room - Number(outdoors.value)) * factor;

// The answer, unpacked: cells and faces lie x first, z last

const bytes = (text) => Uint8Array.from(atob(text), (letter) => letter.charCodeAt(0));
const unpacked = (told) => {
  const { x, y, z, pieces } = told, parts = told.parts.map((one) => ({ words: words.parts[one.words] ?? one.words, made_of: one.made_of.map((name) => words.made[name] ?? name) })), [nx, ny, nz] = [x, y, z].map((edges) => edges.length - 1);
  const part = bytes(told.part), two = bytes(told.factor);
  const partAt = (i, j, k) => (i < 0 || j < 0 || k < 0 || i >= nx || j >= ny || k >= nz ? NOTHING : part[(i * ny + j) * nz + k]);
  const factorAt = (i, j, k) => {
    const at = 2 * ((i * (ny + 1) + j) * nz + k), level = two[at] + 256 * two[at + 1];
    return level ? (level - 1) / LEVELS : 0;
  };
  return { x, y, z, nx, ny, nz, parts, pieces, partAt, factorAt };
};

// Faces of one part as corners of quads (4 by 3 numbers) with a factor at each: wherever something
// else lies beside it. The room is towards the viewer: right is x, up is z, away is y.
const faces = ({ x, y, z, nx, ny, nz, partAt, factorAt }, mine) => {
  const corners = [], factors = [], middle = [(x[0] + x[nx]) / 2, (z[0] + z[nz]) / 2];
  const quad = (places, warmth) => {
    for (const [a, b, c] of places) corners.push(a - middle[0], c - middle[1], -b);
    factors.push(...warmth);
  };
  for (let i = 0; i < nx; i += 1) for (let j = 0; j < ny; j += 1) for (let k = 0; k < nz; k += 1) {
    if (partAt(i, j, k) !== mine) continue;
    const [x0, x1, y0, y1, z0, z1] = [x[i], x[i + 1], y[j], y[j + 1], z[k], z[k + 1]], near = factorAt(i, j, k), far = factorAt(i, j + 1, k);
    if (partAt(i, j - 1, k) !== mine) quad([[x0, y0, z0], [x1, y0, z0], [x1, y0, z1], [x0, y0, z1]], [near, near, near, near]);
    if (partAt(i, j + 1, k) !== mine) quad([[x0, y1, z0], [x1, y1, z0], [x1, y1, z1], [x0, y1, z1]], [far, far, far, far]);
    for (const [di, at] of [[-1, x0], [1, x1]])
      if (partAt(i + di, j, k) !== mine) quad([[at, y0, z0], [at, y1, z0], [at, y1, z1], [at, y0, z1]], [near, far, far, near]);
    for (const [dk, at] of [[-1, z0], [1, z1]])
      if (partAt(i, j, k + dk) !== mine) quad([[x0, y0, at], [x1, y0, at], [x1, y1, at], [x0, y1, at]], [near, near, far, far]);
  }
  return { corners, factors };
};

// How warm a part is on its two sides, by area
const sidesOf = ({ x, z, nx, ny, nz, partAt, factorAt }, mine) => {
  const sums = [0, 0, 0];
  for (let i = 0; i < nx; i += 1) for (let k = 0; k < nz; k += 1) {
    let first = -1, last = -1;
    for (let j = 0; j < ny; j += 1) if (partAt(i, j, k) === mine) { if (first < 0) first = j; last = j; }
    if (first < 0) continue;
    const area = (x[i + 1] - x[i]) * (z[k + 1] - z[k]);
    sums[0] += area; sums[1] += area * factorAt(i, first, k); sums[2] += area * factorAt(i, last + 1, k);
  }
  return [sums[1] / sums[0], sums[2] / sums[0]];
};

// The drawing: made once, filled for each wall

const SHADERS = {
  vertexShader: "attribute float factor; varying float warmth; void main() { warmth = factor; gl_Position = projectionMatrix * modelViewMatrix * vec4(position, 1.0); }",
  fragmentShader: `uniform sampler2D tones; uniform float room; uniform float outdoors; varying float warmth;
    void main() { float t = mix(outdoors, room, warmth); gl_FragColor = texture2D(tones, vec2((clamp((t - (${COLDEST.toFixed(1)})) / ${(WARMEST - COLDEST).toFixed(1)}, 0.0, 1.0) * ${STEPS}.0 + 0.5) / ${STEPS + 1}.0, 0.5)); }`,
};
const tones = () => {
  const all = new Uint8Array((STEPS + 1) * 4);
  for (let n = 0; n <= STEPS; n += 1) {
    const at = n / STEPS * (TONES.length - 1), low = Math.min(Math.floor(at), TONES.length - 2);
    for (let c = 0; c < 3; c += 1) all[n * 4 + c] = TONES[low][c] + (at - low) * (TONES[low + 1][c] - TONES[low][c]);
    all[n * 4 + 3] = 255;
  }
  return all;
};
const stage = (three) => {
  three.ColorManagement.enabled = false;
  const renderer = new three.WebGLRenderer({ canvas, alpha: true, antialias: true });
  renderer.outputColorSpace = three.LinearSRGBColorSpace; // tones go to the screen as they are
  const texture = new three.DataTexture(tones(), STEPS + 1, 1);
  texture.needsUpdate = true;
  const material = new three.ShaderMaterial({ ...SHADERS, side: 2, polygonOffset: true, polygonOffsetFactor: 1, polygonOffsetUnits: 1,
    uniforms: { tones: { value: texture }, room: { value: room }, outdoors: { value: 0 } } });
  const lines = new three.LineBasicMaterial({ color: 0x1d2226, transparent: true, opacity: 0.55 });
  const camera = new three.PerspectiveCamera(FIELD, 1, 0.05, 500), scene = new three.Scene();
  const turning = new three.OrbitControls(camera, canvas);
  Object.assign(turning, { enablePan: false, enableZoom: false, enableDamping: false, minPolarAngle: 0.2, maxPolarAngle: 2.4 });
  canvas.style.touchAction = "pan-y"; // one finger up or down goes on scrolling the page
  return { three, renderer, material, lines, camera, scene, turning, parts: [] };
};

const outlines = ({ x, z, nx, nz, pieces }, mine) => {
  const ends = [], middle = [(x[0] + x[nx]) / 2, (z[0] + z[nz]) / 2];
  for (const [part, x0, x1, y0, y1, z0, z1] of pieces) {
    if (part !== mine) continue;
    const at = (n) => [(n & 1 ? x1 : x0) - middle[0], (n & 4 ? z1 : z0) - middle[1], -(n & 2 ? y1 : y0)];
    for (let n = 0; n < 8; n += 1) for (const bit of [1, 2, 4]) if (!(n & bit)) ends.push(...at(n), ...at(n | bit));
  }
  return ends;
};
const fill = () => {
  const { three, scene, material, lines } = view;
  for (const old of view.parts) { scene.remove(old); for (const one of old.children) one.geometry.dispose(); }
  view.parts = wall.parts.map((_, mine) => {
    const { corners, factors } = faces(wall, mine), solid = new three.BufferGeometry(), edge = new three.BufferGeometry();
    const order = new Uint32Array(factors.length / 4 * 6);
    for (let n = 0; n < factors.length / 4; n += 1) order.set([0, 1, 2, 0, 2, 3].map((c) => 4 * n + c), 6 * n);
    solid.setAttribute("position", new three.BufferAttribute(new Float32Array(corners), 3));
    solid.setAttribute("factor", new three.BufferAttribute(new Float32Array(factors), 1));
    solid.setIndex(new three.BufferAttribute(order, 1));
    edge.setAttribute("position", new three.BufferAttribute(new Float32Array(outlines(wall, mine)), 3));
    const group = new three.Group();
    group.add(new three.Mesh(solid, material), new three.LineSegments(edge, lines));
    scene.add(group);
    return group;
  });
};

// Where one looks from: angles [deg] to the right of and above straight on, distance in wall sizes

const angles = () => ({ across: view.turning.getAzimuthalAngle() * 180 / Math.PI, up: 90 - view.turning.getPolarAngle() * 180 / Math.PI });
const fits = () => {
  const wide = wall.x.at(-1) - wall.x[0], high = wall.z.at(-1) - wall.z[0];
  return Math.max(wide / view.camera.aspect, high) * 1.3 / (2 * Math.tan(FIELD * Math.PI / 360)) + 0.2;
};
const lookFrom = (across, up, far) => {
  const a = across * Math.PI / 180, b = Math.max(-45, Math.min(75, up)) * Math.PI / 180;
  view.far = Math.max(0.25, Math.min(3, far));
  view.camera.position.set(Math.sin(a) * Math.cos(b), Math.sin(b), Math.cos(a) * Math.cos(b)).multiplyScalar(fits() * view.far);
  view.turning.update();
  draw();
};
const turn = (across, up, nearer = 1) => { const at = angles(); lookFrom(at.across + across, at.up + up, view.far * nearer); };

let asked = 0;
const draw = () => { asked ||= requestAnimationFrame(frame); };
const tell = () => {
  const open = Number(slider.value), out = temperature(Number(outdoors.value));
  const off = wall.parts.slice(0, open).map((one) => one.words).join(", "), opened = open ? says("off", { part: off }) : words.closed;
  find("output[for=inside-open]").value = off || words.nothing;
  slider.setAttribute("aria-valuetext", opened);
  find("output[for=inside-outdoors]").value = out;
  const side = view && Math.cos(view.turning.getAzimuthalAngle()) < 0 ? words.outdoors : words.room;
  canvas.setAttribute("aria-label", says("view", { side, opened, out }));
  find("[data-inside-rows]").replaceChildren(...wall.parts.map(({ words: name, made_of: made }, n) => {
    const row = document.createElement("tr");
    wall.sides[n].map((factor) => temperature(degrees(factor))).reduce((cells, text) => [...cells, text], [name, made.join(", ")])
      .forEach((text, c) => { const cell = document.createElement(c ? "td" : "th"); if (!c) cell.scope = "row"; if (c > 1) cell.className = "n"; cell.textContent = text; row.append(cell); });
    return row;
  }));
};
const frame = () => {
  asked = 0;
  performance.mark("inside");
  const { renderer, camera, scene, material } = view, open = Number(slider.value);
  view.parts.forEach((part, n) => { part.visible = n >= open; });
  material.uniforms.outdoors.value = Number(outdoors.value);
  renderer.render(scene, camera);
  canvas.dataset.sees = camera.projectionMatrix.clone().multiply(camera.matrixWorldInverse).elements.join(" ");
  tell();
  performance.measure("inside frame", "inside");
};
const fit = () => {
  const { clientWidth: wide, clientHeight: high } = canvas;
  if (!wide || !high) return;
  view.renderer.setPixelRatio(Math.min(2, devicePixelRatio));
  view.renderer.setSize(wide, high, false);
  view.camera.aspect = wide / high;
  view.camera.updateProjectionMatrix();
};

// The first face that a line of sight meets: its part and factor. Cells are walked along the line.
const seen = (clientX, clientY) => {
  const { three, camera } = view, box = canvas.getBoundingClientRect();
  const to = new three.Vector3((clientX - box.left) / box.width * 2 - 1, 1 - (clientY - box.top) / box.height * 2, 0.5).unproject(camera);
  const eye = camera.position, way = to.sub(eye).normalize(), middle = [(wall.x[0] + wall.x.at(-1)) / 2, (wall.z[0] + wall.z.at(-1)) / 2];
  const edges = [wall.x, wall.y, wall.z], from = [eye.x + middle[0], -eye.z, eye.y + middle[1]], go = [way.x, -way.z, way.y];
  const cuts = edges.flatMap((all, axis) => (Math.abs(go[axis]) < 1e-9 ? [] : all.map((at) => (at - from[axis]) / go[axis]))).filter((t) => t > 0).sort((a, b) => a - b);
  const cell = (axis, at) => { const n = edges[axis].findIndex((edge) => edge > at); return n > 0 ? n - 1 : -1; };
  for (let n = 0; n + 1 < cuts.length; n += 1) {
    const t = (cuts[n] + cuts[n + 1]) / 2, [i, j, k] = [0, 1, 2].map((axis) => cell(axis, from[axis] + t * go[axis]));
    if (i < 0 || j < 0 || k < 0) continue;
    const part = wall.partAt(i, j, k);
    if (part === NOTHING || part < Number(slider.value)) continue;
    const share = (from[1] + cuts[n] * go[1] - wall.y[j]) / (wall.y[j + 1] - wall.y[j]), at = Math.max(0, Math.min(1, share));
    return { part, factor: wall.factorAt(i, j, k) * (1 - at) + wall.factorAt(i, j + 1, k) * at };
  }
  return null;
};
const read = (event) => {
  const met = seen(event.clientX, event.clientY);
  find("[data-inside-place]").value = met ? says("reads", { part: wall.parts[met.part].words, t: temperature(degrees(met.factor)) }) : "";
};

const KEYS = {
  ArrowLeft: () => turn(-15, 0), ArrowRight: () => turn(15, 0), ArrowUp: () => turn(0, 10), ArrowDown: () => turn(0, -10),
  "+": () => turn(0, 0, 0.8), "-": () => turn(0, 0, 1.25), o: () => open(1), c: () => open(-1),
};
const open = (by) => { slider.value = Number(slider.value) + by; draw(); };
const onKey = (event) => {
  if (event.ctrlKey || event.metaKey || event.altKey || !KEYS[event.key]) return;
  event.preventDefault();
  KEYS[event.key]();
};
const begin = () => {
  fit();
  view.far = 1;
  view.turning.addEventListener("change", draw);
  lookFrom(24, 14, 1);
  for (const kind of ["pointermove", "pointerdown"]) canvas.addEventListener(kind, read);
  canvas.addEventListener("keydown", onKey);
  for (const button of section.querySelectorAll("[data-turn]")) button.addEventListener("click", () => {
    const [across, up] = button.dataset.turn.split(",").map(Number);
    if (button.dataset.turn === "front") lookFrom(0, 0, 1);
    else if (button.dataset.turn === "back") lookFrom(180, 0, 1);
    else turn(across, -up);
  });
  for (const button of section.querySelectorAll("[data-near]")) button.addEventListener("click", () => turn(0, 0, Number(button.dataset.near)));
  new ResizeObserver(() => { fit(); draw(); }).observe(canvas);
};

const fetched = async (option) => {
  if (!walls.has(option)) {
    const answer = await fetch(`${section.dataset.inside}?option=${encodeURIComponent(option)}`);
    if (!answer.ok) throw new Error((await answer.text()).match(/<h1>(.*?)<\/h1>/)?.[1] ?? String(answer.status));
    const one = unpacked(await answer.json());
    one.sides = one.parts.map((_, n) => sidesOf(one, n));
    walls.set(option, one);
  }
  return walls.get(option);
};
const show = async () => {
  const chosen = () => section.querySelector("[name=inside-when]:checked").value;
  for (let when = ""; when !== chosen();) { // another may be chosen while one is fetched
    when = chosen();
    wall = await fetched(section.dataset[when]);
  }
  slider.max = wall.parts.length - 1;
  if (view) { fill(); draw(); } else tell();
};
const look = async () => {
  const button = find("[data-look]");
  button.disabled = true;
  said.textContent = "…";
  try {
    const [three] = await Promise.all([import(section.dataset.three), show()]);
    find("[data-inside-ready]").hidden = false;
    button.parentElement.hidden = true;
    find("[data-inside-coldest]").textContent = temperature(COLDEST);
    find("[data-inside-warmest]").textContent = temperature(WARMEST);
    try {
      view = stage(three);
      fill();
      begin();
      canvas.focus();
    } catch { // no WebGL here
      view = null;
      find("[data-solid]").classList.add("none");
      for (const one of section.querySelectorAll(".turns, #inside-keys")) one.hidden = true;
      button.parentElement.hidden = false;
      button.hidden = true;
      said.textContent = words.none;
    }
    const again = () => (view ? draw() : tell());
    for (const one of [slider, outdoors]) one.addEventListener("input", again);
    for (const one of section.querySelectorAll("[name=inside-when]")) one.addEventListener("change", show);
  } catch (error) {
    said.textContent = error.message;
    button.disabled = false;
  }
};

section.hidden = false;
find("[data-look]").addEventListener("click", look);
