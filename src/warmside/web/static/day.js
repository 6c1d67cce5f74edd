// Entries of the day record: kept on this phone first, then sent in the order in which they were
// written. Each carries an id of its own, so that one sent twice is kept once. Without this script
// every form is an ordinary form.
"use strict";

const box = document.querySelector("[data-sync]");
const state = box && box.querySelector(".state"), list = box && box.querySelector(".waiting");
const prefix = box && `warmside-entry/${box.dataset.job}/`;

// --- what waits: one key an entry, so that two tabs never write over each other

function newId() {
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  return Array.from(bytes, b => b.toString(16).padStart(2, "0")).join("");
}

function waiting() {
  return Object.keys(localStorage).filter(key => key.startsWith(prefix)).sort()
    .map(key => ({ key, entry: JSON.parse(localStorage.getItem(key)) }));
}

let counted = 0;
function keep(entry) {
  // time, then a counter, then the id: sorted as written
  const order = `${String(Date.now()).padStart(15, "0")}-${String(counted++).padStart(4, "0")}`;
  localStorage.setItem(`${prefix}${order}-${entry.id}`, JSON.stringify(entry));
}

// --- from a form to an entry

function asMoment(text) {
  return text ? new Date(text).toISOString() : new Date().toISOString();
}

function entryOf(form, button) {
  const own = new Set(["token", "kind", "wall", "back", "replaces", "id"]);
  const data = {}, now = new Date().toISOString();
  for (const [name, value] of new FormData(form, button)) {
    if (!own.has(name) && !name.startsWith("unit.") && typeof value === "string" && value.trim()) data[name] = value.trim();
  }
  for (const unit of form.querySelectorAll("input[name^='unit.']")) {
    const name = unit.name.slice(5); // a number alone is in the unit that its label asks for
    if (/^[-+−]?\d+([.,]\d+)?$/.test(data[name] || "")) data[name] = `${data[name].replace("−", "-")} ${unit.value}`;
  }
  for (const field of form.querySelectorAll("input[type=datetime-local]")) {
    if (field.name !== "at" && data[field.name]) data[field.name] = asMoment(data[field.name]);
  }
  data.at = asMoment(data.at);
  data.noted = now;
  const pad = form.querySelector("[data-pad]");
  if (pad) data.strokes = strokesOf(pad);
  const of = name => form.elements[name] ? form.elements[name].value : "";
  return {
    by: box.dataset.by, words: form.dataset.words || form.dataset.entry, refused: "",
    sent: { id: newId(), kind: of("kind"), wall: of("wall"), replaces: of("replaces"), data },
    id: "",
  };
}

for (const form of box ? document.querySelectorAll("form[data-entry]") : []) {
  form.addEventListener("submit", event => {
    event.preventDefault();
    const entry = entryOf(form, event.submitter);
    entry.id = entry.sent.id;
    try {
      keep(entry);
    } catch {
      tell("This phone has no room left: the entry is NOT kept. Send what waits, then try again.");
      return;
    }
    if (form.dataset.entry === "joint" || form.id === "not-sealed") hold(event.submitter);
    else { form.reset(); for (const pad of form.querySelectorAll("[data-pad]")) clear(pad); }
    const replaces = form.elements.replaces;
    if (replaces) replaces.remove();
    show();
    box.scrollIntoView({ block: "nearest" });
    send();
  });
}

function hold(button) {
  button.closest("li").classList.add("held");
  button.disabled = true;
  button.textContent = "Kept";
}

// --- what the person sees

function tell(text) {
  box.hidden = false;
  state.textContent = text;
}

function show() {
  const found = waiting();
  list.replaceChildren(...found.map(line));
  const refused = found.filter(one => one.entry.refused).length;
  const others = found.filter(one => one.entry.by !== box.dataset.by).length;
  const count = found.length - refused - others;
  if (!found.length) tell(navigator.onLine ? "Everything noted here is kept and sent." : "No network. What you note is kept on this phone.");
  else tell([
    count ? `${count} ${count === 1 ? "entry waits" : "entries wait"} on this phone and will be sent` : "",
    refused ? `${refused} refused, to be mended` : "",
    others ? `${others} of somebody else, sent when they sign in` : "",
  ].filter(Boolean).join("; ") + ".");
  offerReadings(found);
}

function line({ key, entry }) {
  const item = document.createElement("li");
  const when = new Date(entry.sent.data.at);
  item.append(`${entry.words}${entry.sent.wall ? ", " + entry.sent.wall : ""}, ${when.toLocaleTimeString([], { hour: "2-digit", minute: "2-digit" })}, ${entry.by}`);
  const values = document.createElement("span");
  values.className = "hint";
  values.textContent = " " + Object.entries(entry.sent.data)
    .filter(([name, value]) => !["at", "noted", "strokes"].includes(name) && typeof value === "string")
    .map(([, value]) => value).join(", ");
  item.append(values);
  if (entry.refused) {
    const why = document.createElement("p"), back = document.createElement("button");
    why.className = "fault";
    why.textContent = entry.refused;
    back.type = "button";
    back.textContent = "Take it back into its form";
    back.addEventListener("click", () => takeBack(key, entry));
    item.append(why, back);
  }
  return item;
}

function takeBack(key, entry) {
  const kind = entry.sent.kind;
  const forms = [...document.querySelectorAll(`form[data-entry="${kind}"]`)];
  const form = forms.find(one => !one.elements.gate || one.elements.gate.value === entry.sent.data.gate);
  if (form && kind !== "joint" && kind !== "take-back") {
    for (const [name, value] of Object.entries({ ...entry.sent.data, wall: entry.sent.wall })) {
      const field = form.elements[name];
      if (!field || typeof value !== "string") continue;
      field.value = field.type === "datetime-local" ? localText(new Date(value)) : value;
    }
    const details = form.closest("details");
    if (details) details.open = true;
    form.scrollIntoView();
  } else if (!confirm("Its form is on another page. Throw the entry away?")) return;
  localStorage.removeItem(key);
  show();
}

function localText(when) {
  return new Date(when - when.getTimezoneOffset() * 60000).toISOString().slice(0, 16);
}

// a gate may rest on a reading that still waits here
function offerReadings(found) {
  for (const choice of document.querySelectorAll("select[data-readings]")) {
    for (const old of choice.querySelectorAll("option[data-held]")) old.remove();
    for (const { entry } of found) {
      if (entry.sent.kind !== "reading") continue;
      const option = new Option(`${new Date(entry.sent.data.at).toLocaleTimeString([], { hour: "2-digit", minute: "2-digit" })}, waiting on this phone`, entry.id);
      option.dataset.held = "1";
      choice.append(option);
    }
  }
}

// --- sending: in order, one after the other; whatever is not answered stays

let busy = false, again = 0;
async function send() {
  if (busy) return;
  busy = true;
  clearTimeout(again);
  let sent = 0, wait = 0;
  for (const { key, entry } of waiting()) {
    if (entry.by !== box.dataset.by || entry.refused) continue;
    let answer = null;
    try {
      answer = await fetch(box.dataset.sync, {
        method: "POST", headers: { "content-type": "application/json" },
        body: JSON.stringify(entry.sent), signal: AbortSignal.timeout(20000),
      });
    } catch {
      wait = 5000;
      break;
    }
    if (answer.ok) { localStorage.removeItem(key); sent += 1; }
    else if (answer.status === 401) { show(); tell("Sign in again; what you noted is kept on this phone."); busy = false; return; }
    else if (answer.status >= 500 || answer.status === 429) { wait = 10000; break; }
    else {
      entry.refused = await reason(answer);
      localStorage.setItem(key, JSON.stringify(entry));
    }
  }
  busy = false;
  if (sent) await refresh();
  show();
  if (wait) { tell(`No connection now. ${state.textContent}`); again = setTimeout(send, wait); }
  else if (waiting().some(one => one.entry.by === box.dataset.by && !one.entry.refused)) send();
}

async function reason(answer) {
  try {
    const { error } = await answer.json();
    return error.faults.map(f => `${f.place}: read ${f.read}; allowed: ${f.allowed}`).join(" ") || error.title;
  } catch { return `Refused (${answer.status})`; }
}

// what was kept meanwhile, as the server tells it; what is being typed stays
async function refresh() {
  try {
    const answer = await fetch(location.href);
    if (!answer.ok || answer.redirected) return;
    const fresh = new DOMParser().parseFromString(await answer.text(), "text/html");
    for (const part of ["#noted", ".runs", ".steps summary"]) {
      const now = document.querySelectorAll(part), next = fresh.querySelectorAll(part);
      if (now.length === next.length) now.forEach((old, n) => old.replaceWith(document.importNode(next[n], true)));
    }
  } catch { /* it shows at the next visit */ }
}

// --- signatures: strokes as points, 0 to 1000 across and 0 to 400 down

const drawn = new WeakMap();
function strokesOf(pad) { return drawn.get(pad) || []; }
function clear(pad) {
  drawn.set(pad, []);
  const canvas = pad.querySelector("canvas");
  canvas.getContext("2d").clearRect(0, 0, canvas.width, canvas.height);
}
for (const pad of document.querySelectorAll("[data-pad]")) {
  pad.hidden = false;
  const canvas = pad.querySelector("canvas"), pen = canvas.getContext("2d");
  clear(pad);
  let stroke = null;
  const point = event => {
    const seat = canvas.getBoundingClientRect();
    const inside = (value, most) => Math.round(Math.min(Math.max(value, 0), 1) * most);
    return [inside((event.clientX - seat.left) / seat.width, 1000), inside((event.clientY - seat.top) / seat.height, 400)];
  };
  canvas.addEventListener("pointerdown", event => {
    canvas.setPointerCapture(event.pointerId);
    stroke = [point(event)];
    drawn.get(pad).push(stroke);
  });
  canvas.addEventListener("pointermove", event => {
    if (!stroke || stroke.length >= 1500) return;
    const [x, y] = point(event), [u, v] = stroke[stroke.length - 1];
    if (x === u && y === v) return;
    stroke.push([x, y]);
    pen.strokeStyle = getComputedStyle(canvas).color;
    pen.lineWidth = 7;
    pen.lineCap = "round";
    pen.beginPath(); pen.moveTo(u, v); pen.lineTo(x, y); pen.stroke();
  });
  for (const end of ["pointerup", "pointercancel"]) canvas.addEventListener(end, () => { stroke = null; });
  pad.querySelector("[data-clear]").addEventListener("click", () => clear(pad));
}

// --- begin

if (box) {
  if ("serviceWorker" in navigator) {
    navigator.serviceWorker.register("/day-worker.js");
    if (navigator.storage && navigator.storage.persist) navigator.storage.persist();
  }
  else if (!window.isSecureContext) {
    const note = document.createElement("p");
    note.className = "hint";
    note.textContent = "Over a plain http address the phone keeps what you note, but cannot open this page again without network: leave it open.";
    box.append(note);
  }
  addEventListener("online", send);
  addEventListener("offline", show);
  addEventListener("storage", show);
  document.addEventListener("visibilitychange", () => { if (!document.hidden) send(); });
  show();
  send();
}
