// The wall's form, row by row: what a hand on the drawing changes is changed here, and the form's own
// button saves it. Every state of the form is kept, so that each step can be taken back.

export const form = document.querySelector("form[data-draw]");
const MOST = 200; // states that are kept

export const field = (name) => (form && name ? form.elements.namedItem(name) : null);
export const changed = () => form.dispatchEvent(new Event("input", { bubbles: true }));

// Rows

const rowsOf = (key) => [...form.querySelectorAll(`[data-row^="${key}."]`)];
const fieldset = (row) => form.querySelector(`[data-row="${row}"]`);
const keyOf = (row) => row.split(".")[0];
const fieldsIn = (set) => [...set.querySelectorAll("[name]")];
const holds = (one) => (one.type === "checkbox" ? one.checked : one.tagName !== "SELECT" && one.value.trim() !== "");

const renamed = (set, key, from, to) => {
  for (const one of [set, ...set.querySelectorAll("*")]) {
    for (const { name, value } of [...one.attributes]) {
      const now = value.replaceAll(`${key}.${from}.`, `${key}.${to}.`).replaceAll(`f-${key}-${from}-`, `f-${key}-${to}-`);
      if (now !== value) one.setAttribute(name, now);
    }
  }
  set.dataset.row = `${key}.${to}`;
  return set;
};
const cleared = (set) => {
  for (const one of fieldsIn(set)) {
    if (one.type === "checkbox") one.checked = false;
    else if (one.tagName === "SELECT") one.selectedIndex = 0;
    else one.value = "";
  }
  return set;
};
const another = (key) => {
  const last = rowsOf(key).at(-1), number = Number(last.dataset.row.split(".")[1]);
  const made = cleared(renamed(last.cloneNode(true), key, number, number + 1));
  last.after(made);
  return made;
};

export const labelled = (row) => (row ? fieldsIn(fieldset(row)).filter((one) => one.type !== "checkbox") : []);
export const valuesOf = (row) => Object.fromEntries(labelled(row).map((one) => [one.name.slice(row.length + 1), one.value]));

export const addRow = (key, values) => {
  let set = rowsOf(key).at(-1);
  if (fieldsIn(set).some(holds)) set = another(key);
  another(key);
  for (const [name, value] of Object.entries(values)) {
    const one = field(`${set.dataset.row}.${name}`);
    if (one) one.value = value;
  }
  return set.dataset.row;
};
export const isIn = (row) => {
  const set = fieldset(row);
  return Boolean(set) && fieldsIn(set).some(holds) && !field(`${row}.remove`)?.checked;
};
export const takeOut = (row) => {
  const box = field(`${row}.remove`);
  if (box) box.checked = true;
  else cleared(fieldset(row));
};

// A name that no other row has: "window", "window 2"
export const freeName = (key, wish) => {
  const used = new Set(rowsOf(key).map((set) => field(`${set.dataset.row}.name`)?.value.trim()));
  const base = wish.replace(/ \d+$/, "");
  for (let n = 1; ; n += 1) {
    const name = n === 1 ? base : `${base} ${n}`;
    if (!used.has(name)) return name;
  }
};

// Steps back and forward

const states = [];
let at = -1, soon = 0, told = () => {};
const snapshot = () => JSON.stringify([...new FormData(form)].filter(([name, value]) => value && !["token", "revision"].includes(name)));

export const remember = () => {
  clearTimeout(soon);
  const state = snapshot();
  if (state === states[at]) return;
  states.splice(at + 1, MOST, state);
  if (states.length > MOST) states.shift();
  at = states.length - 1;
  told({ back: at > 0, forth: false });
};
export const rememberSoon = () => { clearTimeout(soon); soon = setTimeout(remember, 500); };

const restore = (state) => {
  const values = new Map(JSON.parse(state));
  for (const name of values.keys()) {
    const [key, number] = name.split(".");
    if (/^\d+$/.test(number ?? "")) while (!fieldset(`${key}.${number}`)) another(key);
  }
  for (const one of form.elements) {
    if (!one.name || ["token", "revision"].includes(one.name) || one.type === "submit") continue;
    if (one.type === "checkbox") one.checked = values.has(one.name);
    else one.value = values.get(one.name) ?? "";
  }
};
export const step = (by) => {
  remember();
  if (!states[at + by]) return false;
  at += by;
  restore(states[at]);
  told({ back: at > 0, forth: at < states.length - 1 });
  changed();
  return true;
};
export const keepSteps = (tell) => {
  told = tell;
  remember();
  form.addEventListener("change", remember);
};

export { keyOf };
