// The figures of the wall beside its drawing: they follow the form while it is filled in.
// The answer stays open and tells what becomes known; the next edit closes it.
"use strict";

{
  const panel = document.querySelector("[data-figures]");
  const form = document.querySelector("form[data-follow]");
  const short = form.querySelector("[data-short]");
  const body = panel.querySelector("[data-figures-body]"), state = panel.querySelector("[data-figures-state]");
  let asked = null, waiting = 0, shown = "";

  const say = (text) => { state.textContent = text; };
  const pick = () => body.querySelector("select");
  const show = () => {
    for (const one of body.querySelectorAll("[data-option]")) one.hidden = one.dataset.option !== pick().value;
    const values = [...body.querySelectorAll("[data-option]:not([hidden]) dd")].slice(0, 3);
    short.textContent = values.map((value) => value.textContent).join(" · ");
  };

  const TOLD = {
    figures(told) {
      if (told.panel) {
        body.innerHTML = told.panel;
        // what somebody looks at stays; until then it is what is put forward
        if ([...pick().options].some((option) => option.value === shown)) pick().value = shown;
        pick().addEventListener("change", () => { shown = pick().value; show(); });
      }
      for (const [id, html] of Object.entries(told.options ?? {})) {
        const there = body.querySelector(`[data-option="${CSS.escape(id)}"]`);
        if (there) there.innerHTML = html;
      }
      if (!pick()) return;
      if (told.house) body.querySelector("[data-house]").innerHTML = told.house;
      panel.classList.remove("old");
      show();
      if (told.total) say(told.done < told.total ? `${told.done} of ${told.total} options judged in whole.` : "All options judged in whole.");
    },
    end(told) { if (told.fault) say(`Not judged further: ${told.fault}`); },
  };

  // Events as they come: "event: name", "data: JSON", and an empty line.
  const read = async (answer) => {
    const lines = answer.body.pipeThrough(new TextDecoderStream()).getReader();
    let rest = "";
    for (;;) {
      const { done, value } = await lines.read();
      if (done) return;
      const events = (rest + value).split("\n\n");
      rest = events.pop();
      for (const event of events) {
        const found = event.match(/^event: (\w+)\ndata: (.*)$/s);
        if (found) TOLD[found[1]]?.(JSON.parse(found[2]));
      }
    }
  };

  const ask = async () => {
    asked?.abort();
    asked = new AbortController();
    panel.classList.add("old");
    say("Working the figures out.");
    try {
      const sent = new URLSearchParams(new FormData(form));
      sent.set("shown", pick()?.value ?? "");
      const answer = await fetch(form.dataset.follow, { method: "POST", body: sent, signal: asked.signal });
      if (!answer.ok) { say("The figures are those of before: the form holds something that cannot be read yet."); return; }
      await read(answer);
    } catch (error) {
      if (error.name !== "AbortError") say("No connection: the figures are those of before.");
    }
  };

  panel.hidden = false;
  form.addEventListener("input", () => { clearTimeout(waiting); waiting = setTimeout(ask, 120); });
  addEventListener("pagehide", () => asked?.abort());
  ask();
}
