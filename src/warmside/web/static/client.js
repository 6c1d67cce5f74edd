// The client's view: a wall today and after the work, under sliders. What is drawn was solved ahead
// at every quarter inch of foam; between two of them it is mixed, and for the air temperatures it
// is exact. Without this script the page shows two pictures.
"use strict";

{
  const moving = document.querySelector("[data-depths]");
  const find = (what) => moving.querySelector(what);
  const canvas = find("canvas"), paint = canvas.getContext("2d");
  const split = find("#split"), depth = find("#depth"), outdoors = find("#outdoors");
  const room = Number(moving.dataset.room);
  const TONES = [[16, 42, 67], [43, 93, 138], [140, 142, 148], [226, 150, 92], [255, 231, 204]];
  const COLDEST = -5, WARMEST = 25, WIDE = 480, LEVELS = 65535; // [degC], [px]
  let steps = [], found = null, picture = null, tall = 0;

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

  // The two depths around a thickness, and how far it is from one to the other.
  const around = (thickness) => {
    let n = steps.findIndex((one) => one.thickness >= thickness - 1e-6);
    if (n < 0) n = steps.length - 1;
    const above = steps[n], below = steps[Math.max(n - 1, 0)], over = above.thickness - below.thickness;
    return { above, below, share: over > 1e-9 ? Math.min(1, Math.max(0, (thickness - below.thickness) / over)) : 1 };
  };
  const mixed = ({ below, above, share }, name) => below[name] + share * (above[name] - below[name]);
  const degrees = (factor) => Number(outdoors.value) + (room - Number(outdoors.value)) * factor;

  const heat = (rsi) => moving.dataset.resistance === "RSI" ? `RSI ${rsi.toFixed(2)}` : `R-${(rsi / 0.1761101838).toFixed(1)}`;
  const money = (amount) => `${moving.dataset.currency} ${(Math.round(amount / 10) * 10).toLocaleString("en")}`;
  const temperature = (value) => temperatureText(value);

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
    find("output[for=depth]").value = lengthText(Number(depth.value));
    find("output[for=outdoors]").value = temperature(Number(outdoors.value));
    find("[data-r0]").textContent = heat(found.resistance);
    find("[data-r1]").textContent = heat(mixed(now, "resistance"));
    const cold = degrees(found.coldest), after = degrees(mixed(now, "coldest"));
    find("[data-t0]").textContent = temperature(cold);
    find("[data-t1]").textContent = temperature(after);
    const { price, saving } = now.above;
    find("[data-price]").textContent = price === null ? "not priced" : money(price);
    find("[data-saving]").textContent = saving ? `${money(saving[1])} (${money(saving[0])} to ${money(saving[2])})` : "–";
    canvas.setAttribute("aria-label", `The wall at ${temperature(Number(outdoors.value))} outdoors: coldest place ${temperature(cold)} today, ${temperature(after)} after the work`);
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
    find("[data-place]").value = Number.isNaN(after) || Number.isNaN(found.factor[at]) ? "an opening" : `${temperature(degrees(found.factor[at]))} today, ${temperature(degrees(after))} after`;
  };

  const begin = async () => {
    moving.hidden = false;
    let told = null;
    try {
      const answer = await fetch(moving.dataset.depths);
      if (!answer.ok) { moving.hidden = true; return; }
      told = await answer.json();
    } catch { moving.hidden = true; return; }
    if (told.depths.length < 2) { find("[data-said]").textContent = "Foam cannot be put into this wall as it was found."; return; }
    found = spread(told.depths[0]);
    steps = told.depths.slice(1).map(spread).sort((a, b) => a.thickness - b.thickness);
    canvas.width = WIDE; canvas.height = tall;
    picture = paint.createImageData(WIDE, tall);
    depth.min = steps[0].thickness; depth.max = steps.at(-1).thickness; depth.step = 0.0254 / 16;
    const near = steps.reduce((best, one) => Math.abs(one.resistance - moving.dataset.after) < Math.abs(best.resistance - moving.dataset.after) ? one : best);
    depth.value = near.thickness;
    find("[data-coldest-tone]").textContent = temperature(COLDEST);
    find("[data-warmest-tone]").textContent = temperature(WARMEST);
    find("[data-said]").hidden = true;
    find("[data-ready]").hidden = false;
    document.querySelector("[data-plain]").hidden = true;
    for (const slider of [split, depth, outdoors]) slider.addEventListener("input", ask);
    for (const kind of ["pointermove", "pointerdown"]) canvas.addEventListener(kind, point);
    frame();
  };
  begin();
}
