// The total while prices are typed; without this script the page saves and tells it then.
(() => {
  const form = document.querySelector("form.prices");
  if (!form) return;
  const list = form.querySelector(".total dl");
  const missing = form.querySelector(".missing");
  let waiting = 0;
  let asked = 0;

  function show(told) {
    list.replaceChildren(...told.lines.map((line) => {
      const row = document.createElement("div");
      for (const [tag, text] of [["dt", line.name], ["dd", line.amount]]) {
        const cell = document.createElement(tag);
        cell.textContent = text;
        row.append(cell);
      }
      return row;
    }));
    say(told.note);
  }

  function say(text) {
    missing.hidden = !text;
    missing.textContent = text;
  }

  async function ask() {
    const mine = ++asked;
    try {
      const answer = await fetch(form.dataset.total, { method: "POST", body: new FormData(form) });
      if (mine !== asked) return;
      const told = await answer.json();
      if (answer.ok) show(told);
      else if (told.faults) say(told.faults.map((f) => `${f.place}: ${f.read}; allowed: ${f.allowed}`).join(". "));
    } catch {
      say("The total waits for the connection.");
    }
  }

  form.addEventListener("input", () => {
    clearTimeout(waiting);
    waiting = setTimeout(ask, 400);
  });
})();
