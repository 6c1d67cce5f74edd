// Photos: kept on this phone first (IndexedDB), then sent one after the other. Each carries an id of
// its own, so that one sent twice is kept once. Without this script every form is an ordinary upload.
"use strict";

{
  const box = document.querySelector("[data-photos]");
  const state = box?.querySelector(".state"), list = box?.querySelector(".waiting");
  const shelf = box && self.indexedDB ? idbKeyval.createStore("warmside-photos", "waiting") : null;
  const PATIENCE = 180000; // ms for one photo over a poor line

  const newId = () => Array.from(crypto.getRandomValues(new Uint8Array(16)), b => b.toString(16).padStart(2, "0")).join("");
  const tell = (text) => { box.hidden = !text; state.textContent = text; };
  const many = (count, one) => `${count} ${one}${count === 1 ? "" : "s"}`;

  // Bytes rather than the picked file: what a file input holds may be gone after a reload
  const waiting = async () => (await idbKeyval.entries(shelf))
    .map(([key, photo]) => ({ key, photo }))
    .filter(({ photo }) => photo.job === box.dataset.job)
    .sort((a, b) => (a.key < b.key ? -1 : 1));

  const keep = async (form) => {
    const fields = {};
    let file = null;
    for (const [name, value] of new FormData(form)) {
      if (value instanceof File) file = value;
      else if (!["token", "id"].includes(name)) fields[name] = value;
    }
    const id = newId(), order = String(Date.now()).padStart(15, "0");
    const photo = { id, fields, job: box.dataset.job, by: box.dataset.by, at: Date.now(), refused: "",
      name: file.name, type: file.type, data: await file.arrayBuffer() };
    await idbKeyval.set(`${photo.job}/${order}-${id}`, photo, shelf);
  };

  for (const form of shelf ? document.querySelectorAll("form[data-photo]") : []) {
    form.addEventListener("submit", async (event) => {
      event.preventDefault();
      const button = event.submitter;
      if (button) button.disabled = true;
      try {
        await keep(form);
        form.reset();
      } catch {
        // no room, or a private window that keeps nothing: an ordinary upload while there is a network
        tell("This phone cannot keep the photo: it is NOT kept until it is sent.");
        if (navigator.onLine) form.submit();
        return;
      } finally {
        if (button) button.disabled = false;
      }
      await show();
      box.scrollIntoView({ block: "nearest" });
      send();
    });
  }

  // What the person sees

  const shown = [];
  const show = async () => {
    while (shown.length) URL.revokeObjectURL(shown.pop());
    const found = await waiting();
    list.replaceChildren(...found.map(line));
    const refused = found.filter(({ photo }) => photo.refused).length;
    const others = found.filter(({ photo }) => photo.by !== box.dataset.by).length;
    const count = found.length - refused - others;
    tell([
      count ? `${many(count, "photo")} ${count === 1 ? "waits" : "wait"} on this phone and will be sent` : "",
      refused ? `${many(refused, "photo")} refused` : "",
      others ? `${many(others, "photo")} of somebody else, sent when they sign in` : "",
    ].filter(Boolean).join("; ") + (found.length ? "." : ""));
  };

  const line = ({ key, photo }) => {
    const item = document.createElement("li"), small = new Image();
    const address = URL.createObjectURL(new Blob([photo.data], { type: photo.type }));
    shown.push(address);
    small.src = address;
    small.alt = photo.fields.caption || "photo that waits";
    small.width = 96;
    const when = new Date(photo.at).toLocaleTimeString([], { hour: "2-digit", minute: "2-digit" });
    item.append(small, ` ${photo.fields.wall || "the house"}, ${when}, ${photo.by}`);
    if (!photo.refused) return item;
    const why = document.createElement("p"), save = document.createElement("a"), drop = document.createElement("button");
    why.className = "fault";
    why.textContent = photo.refused;
    save.href = address;
    save.download = photo.name || "photo.jpg";
    save.textContent = "Save it as a file";
    drop.type = "button";
    drop.textContent = "Throw it away";
    drop.addEventListener("click", async () => {
      if (!confirm("Throw this photo away? It was never sent.")) return;
      await idbKeyval.del(key, shelf);
      show();
    });
    item.append(why, save, " ", drop);
    return item;
  };

  // Sending: in order; whatever is not answered stays

  let busy = false, again = 0;
  const send = async () => {
    if (busy) return;
    busy = true;
    clearTimeout(again);
    let sent = 0, wait = 0, note = "";
    for (const { key, photo } of await waiting()) {
      if (photo.by !== box.dataset.by || photo.refused) continue;
      const body = new FormData();
      for (const [name, value] of Object.entries(photo.fields)) body.set(name, value);
      body.set("id", photo.id);
      body.set("quiet", "1");
      body.set("token", document.querySelector("input[name=token]").value);
      body.set("photo", new Blob([photo.data], { type: photo.type }), photo.name || "photo");
      let answer = null;
      try {
        answer = await fetch(box.dataset.photos, { method: "POST", body, signal: AbortSignal.timeout(PATIENCE) });
      } catch {
        [wait, note] = [8000, "No connection now."];
        break;
      }
      if (answer.status === 204) { await idbKeyval.del(key, shelf); sent += 1; }
      else if (answer.redirected || answer.status === 403) { note = "Load this page again, and sign in if asked."; break; }
      else if (answer.status >= 500 || answer.status === 429) { [wait, note] = [15000, "The server is busy."]; break; }
      else {
        photo.refused = await reason(answer);
        await idbKeyval.set(key, photo, shelf);
      }
    }
    busy = false;
    await show();
    if (note) tell(`${note} ${state.textContent}`);
    if (wait) again = setTimeout(send, wait);
    if (sent && !note) {
      if (!box.hidden) return;
      tell(`${many(sent, "photo")} sent and kept.`);
      if (box.dataset.reload) location.reload();
    }
  };

  const reason = async (answer) => {
    const page = new DOMParser().parseFromString(await answer.text(), "text/html");
    const told = [...page.querySelectorAll(".told li")].map(li => li.textContent.trim()).join(" ");
    return told || page.querySelector("h1")?.textContent || `Refused (${answer.status})`;
  };

  if (shelf) {
    if ("serviceWorker" in navigator) navigator.serviceWorker.register("/day-worker.js");
    if (navigator.storage?.persist) navigator.storage.persist();
    addEventListener("online", send);
    document.addEventListener("visibilitychange", () => { if (!document.hidden) send(); });
    show().then(send).catch(() => tell(""));
  }
}
