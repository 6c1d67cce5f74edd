// The client's view: a wall today and after the work, under sliders. What is drawn was solved at
// quarter inches of foam, the one looked at first; between two of them it is mixed, and for the air
// temperatures it is exact. Without this script the page shows two pictures.
"use strict";

{
  const moving = document.querySelector("[data-depths]");
  const find = (what) => moving.querySelector(what);
  const canvas = find("canvas"), paint = canvas.getContext("2d");
  const split = find("#split"), depth = find("#depth"), outdoors = find("#outdoors");
  const room = Number(moving.dataset.room), ways = JSON.parse(moving.dataset.script);
  const TONES = [[16, 42, 67], [43, 93, 138], [140, 142, 148], [226, 150, 92], [255, 231, 204]];
  const COLDEST = -5, WARMEST = 25, WIDE = 480, LEVELS = 65535; // [degC], [px]
  let all = [], solved = new Map(), found = null, picture = null, tall = 0, stream = null;

  // A tone for every half tenth of a degree, red, green and blue.
  const tones = new Uint8Array(601 * 3);
  for (let n = 0; n <= 600; n += 1) {
    const at = n / 600 * (TONES.length - 1), low = Math.min(Math.floor(at), TONES.length - 2);
    for (let k = 0; k < 3; k += 1) tones[n * 3 + k] = TONES[low][k] + (at - low) * (TONES[low + 1][k] - TONES[low][k]);
  }

  // The factors of one depth on the picture's own points: the first row is the top.
  const spread = (one) => {
    const bytes = Uint8Array.from(atob(one.factor), (c) => c.charCodeAt(0)), high = one.z.length - 1;
    const cell = (edges, place) => {
      let low = 0, top = edges.length - 2;
      while (low < top) { const middle = (low + top + 1) >> 1; if (edges[middle] <= place) low = middle; else top = middle - 1; }
      return low;
    };
    const { x, z } = one, across = x.at(-1) - x[0], up = z.at(-1) - z[0];
    tall ||= Math.max(80, Math.round(WIDE * up / across));
    const columns = Array.from({ length: WIDE }, (_, i) => cell(x, x[0] + (i + 0.5) / WIDE * across));
    const rows = Array.from({ length: tall }, (_, k) => cell(z, z.at(-1) - (k + 0.5) / tall * up));
    const factor = new Float32Array(WIDE * tall);
    for (let k = 0; k < tall; k += 1) {
      for (let i = 0; i < WIDE; i += 1) {
        const at = 2 * (columns[i] * high + rows[k]), level = bytes[at] + 256 * bytes[at + 1];
        factor[k * WIDE + i] = level ? level / LEVELS : NaN;
      }
    }
    return { ...one, factor };
  };

  // The two depths around a thickness, and how far it is from one to the other; where one of them
  // is not worked out yet, the nearest that is.
  const around = (thickness) => {
    let n = all.findIndex((one) => one >= thickness - 1e-6);
    if (n < 0) n = all.length - 1;
    const high = all[n], low = all[Math.max(n - 1, 0)], exact = high - thickness < 1e-6;
    const above = solved.get(high), below = exact ? above : solved.get(low);
    if (above && below) return { above, below, share: exact || high === low ? 1 : Math.max(0, (thickness - low) / (high - low)), waits: false };
    const nearest = [...solved.values()].reduce((best, one) => Math.abs(one.thickness - thickness) < Math.abs(best.thickness - thickness) ? one : best);
    return { above: nearest, below: nearest, share: 1, waits: true };
  };
  const mixed = ({ below, above, share }, name) => below[name] + share * (above[name] - below[name]);
  const degrees = (factor) => Number(outdoors.value) + (room - Number(outdoors.value)) * factor;

  // Figures as the offer writes them.
  const written = (value, way) => quantityText(value, way, ways.locale);
  const coins = new Intl.NumberFormat(ways.locale, { style: "currency", currency: ways.currency, maximumFractionDigits: 0, minimumFractionDigits: 0 });
  const money = (amount) => coins.format(Math.round(amount / 10) * 10);
  const end = (amount) => Math.abs(amount) < 100 ? money(amount) : coins.format(Number(amount.toPrecision(2)));
  const temperature = (value) => written(value, ways.temperature);
  const says = (name, parts) => Object.entries(parts ?? {}).reduce((text, [key, part]) => text.replace(`{${key}}`, part), ways.words[name]);

  const draw = () => {
    const now = around(Number(depth.value)), edge = Math.round(Number(split.value) / 100 * WIDE);
    const { below, above, share } = now, outside = Number(outdoors.value), rise = room - outside, pixels = picture.data;
    for (let k = 0, at = 0; k < tall; k += 1) {
      for (let i = 0; i < WIDE; i += 1, at += 1) {
        const factor = i < edge ? found.factor[at] : below.factor[at] + share * (above.factor[at] - below.factor[at]);
        const value = outside + rise * factor, p = at * 4;
        if (Number.isNaN(value)) { pixels[p + 3] = 0; continue; }
        const tone = 3 * Math.max(0, Math.min(600, Math.round((value - COLDEST) / (WARMEST - COLDEST) * 600)));
        pixels[p] = tones[tone]; pixels[p + 1] = tones[tone + 1]; pixels[p + 2] = tones[tone + 2]; pixels[p + 3] = 255;
      }
    }
    paint.putImageData(picture, 0, 0);
    paint.fillStyle = "#fff";
    paint.fillRect(edge - 1, 0, 2, tall);
    return now;
  };
  const tell = (now) => {
    const cold = temperature(degrees(found.coldest)), after = temperature(degrees(mixed(now, "coldest")));
    const out = temperature(Number(outdoors.value)), { price, saving } = now.above;
    find("output[for=depth]").value = lengthText(Number(depth.value));
    find("output[for=outdoors]").value = out;
    find("[data-waits]").textContent = now.waits ? says("waits", { depth: lengthText(now.above.thickness) }) : "";
    find("[data-r0]").textContent = written(found.resistance, ways.resistance);
    find("[data-r1]").textContent = written(mixed(now, "resistance"), ways.resistance);
    find("[data-t0]").textContent = cold;
    find("[data-t1]").textContent = after;
    find("[data-price]").textContent = price === null ? says("unpriced") : money(price);
    find("[data-saving]").textContent = saving ? `${money(saving[1])} (${end(saving[0])}${says("to")}${end(saving[2])})` : "–";
    canvas.setAttribute("aria-label", says("picture", { out, t0: cold, t1: after }));
  };
  let asked = 0;
  const frame = () => {
    asked = 0;
    performance.mark("frame");
    tell(draw());
    performance.measure("slider frame", "frame");
  };
  const ask = () => { asked ||= requestAnimationFrame(frame); };

  const point = (event) => {
    const box = canvas.getBoundingClientRect();
    const i = Math.floor((event.clientX - box.left) / box.width * WIDE), k = Math.floor((event.clientY - box.top) / box.height * tall);
    if (i < 0 || k < 0 || i >= WIDE || k >= tall) return;
    const at = k * WIDE + i, { below, above, share } = around(Number(depth.value));
    const after = below.factor[at] + share * (above.factor[at] - below.factor[at]);
    find("[data-place]").value = Number.isNaN(after) || Number.isNaN(found.factor[at])
      ? says("opening") : says("place", { t0: temperature(degrees(found.factor[at])), t1: temperature(degrees(after)) });
  };

  const show = (first) => {
    canvas.width = WIDE; canvas.height = tall;
    picture = paint.createImageData(WIDE, tall);
    depth.min = all[0]; depth.max = all.at(-1); depth.step = 0.0254 / 16;
    depth.value = first;
    find("[data-coldest-tone]").textContent = temperature(COLDEST);
    find("[data-warmest-tone]").textContent = temperature(WARMEST);
    find("[data-ready]").hidden = false;
    document.querySelector("[data-plain]").hidden = true;
    for (const slider of [split, depth, outdoors]) slider.addEventListener("input", ask);
    // a depth that somebody stops at is worked out before the others
    depth.addEventListener("change", () => { if (around(Number(depth.value)).waits) begin(Number(depth.value)); });
    for (const kind of ["pointermove", "pointerdown"]) canvas.addEventListener(kind, point);
  };
  const progress = () => {
    const bar = find("[data-progress]"), ready = all.length && solved.size === all.length;
    bar.max = Math.max(all.length, 1); bar.value = solved.size;
    bar.hidden = find("[data-said]").hidden = Boolean(ready);
    if (solved.size) find("[data-said]").textContent = says("done", { n: solved.size, all: all.length });
  };

  const TOLD = {
    depths(told) { all = told.all; TOLD.first = told.first; },
    depth(told) {
      const one = spread(told);
      if (one.thickness === 0) { found = one; } else { solved.set(all.reduce((best, t) => Math.abs(t - one.thickness) < Math.abs(best - one.thickness) ? t : best), one); }
      progress();
      if (!found || !solved.size) return;
      if (!picture) show(TOLD.first);
      ask();
    },
    end(told) {
      stream.close();
      if (told.fault) { if (!picture) moving.hidden = true; else { find("[data-said]").textContent = told.fault; } return; }
      if (all.length === 0) { find("[data-said]").textContent = says("none"); find("[data-progress]").hidden = true; }
    },
  };
  const begin = (first) => {
    stream?.close();
    stream = new EventSource(`${moving.dataset.depths}${first ? `?first=${first.toFixed(4)}` : ""}`);
    for (const kind of ["depths", "depth", "end"]) stream.addEventListener(kind, (event) => TOLD[kind](JSON.parse(event.data)));
    stream.addEventListener("error", () => { stream.close(); if (!picture) moving.hidden = true; });
  };
  moving.hidden = false;
  begin(0);
  addEventListener("pagehide", () => stream?.close());
}
