// The page at the bench: sends each change, keeps what could not be sent, and shows what the server judged.
const main = document.getElementById("main");
const token = document.querySelector("meta[name=token]").content;
if (main && main.dataset.job) bench(main.dataset.job);
else if (document.querySelector("[data-waiting]")) setTimeout(renew, 2000);

// The list of the day, until all that it shows is judged.
async function renew() {
  try {
    const answer = await fetch(location.href);
    const fresh = new DOMParser().parseFromString(await answer.text(), "text/html").querySelector(".jobs");
    if (answer.ok && fresh) document.querySelector(".jobs").replaceWith(fresh);
  } catch { /* the next look may reach the server */ }
  if (document.querySelector("[data-waiting]")) setTimeout(renew, 2000);
}

function bench(job) {
  const line = document.getElementById("line");
  const store = "bench:" + job;
  const tab = Math.random().toString(36).slice(2);
  let version = main.dataset.version;
  let queue = read().map((one) => ({ ...one, tab }));
  let sending = false;
  let trial = 0;
  let also = [];
  let shots = [];
  let shooting = false;

  function read() {
    try { return JSON.parse(localStorage.getItem(store)) || []; } catch { return []; }
  }
  function keep() {
    // Other pages of this browser on the same job keep theirs in the same place.
    const all = read().filter((one) => one.tab !== tab).concat(queue);
    try { localStorage.setItem(store, JSON.stringify(all)); } catch { tell(line.dataset.full); }
    for (const row of rows()) row.toggleAttribute("data-unsent", queue.some((one) => one.row === row.dataset.id));
    tell();
  }
  function tell(words) {
    const waiting = [[queue.length, line.dataset.waiting], [shots.length, line.dataset.shots]].filter(([number]) => number).map((one) => one.join(" ")).join(" ") || line.dataset.saved;
    const text = words || (navigator.onLine === false || offline ? line.dataset.offline + " " : "") + waiting;
    if (line.textContent !== text) line.textContent = text;
  }
  let offline = false;

  const rows = () => main.querySelectorAll("[data-id]");
  const rowOf = (id) => main.querySelector(`[data-id="${CSS.escape(id)}"]`);

  async function post(path, body) {
    const answer = await fetch(path, { method: "POST", headers: { "content-type": "application/json", "x-bench-token": token }, body: JSON.stringify(body) });
    if (answer.status === 401) { location.href = "/"; throw new Error("ended"); }
    return answer;
  }

  // What a control says: the text of its input with the unit beside it.
  function value(row) {
    const input = row.querySelector("[data-in]");
    const text = input.value.trim();
    const unit = row.querySelector("[data-unit]");
    const isFigure = /^[+\-−]?[\d.,]+$/.test(text);
    const symbol = unit ? (unit.tagName === "SELECT" ? unit.value : unit.dataset.unit) : "";
    return isFigure && symbol ? text + " " + symbol : text;
  }

  function change(row, text) {
    const id = row.dataset.id;
    const before = queue.find((one) => one.row === id);
    if (!before && text === row.dataset.base) return;
    if (before) before.value = text;
    else queue.push({ tab, row: id, base: row.dataset.base, value: text });
    // What is judged meanwhile is of what was typed before.
    trial += 1;
    keep();
    send();
  }

  async function send() {
    if (sending || !queue.length) return;
    sending = true;
    const batch = queue.filter((one) => !one.asked).slice(0, 64).map((one) => ({ ...one }));
    try {
      if (batch.length) {
        const answer = await post("/change", { job, also, changes: batch });
        offline = false;
        if (answer.ok) {
          const done = await answer.json();
          done.results.forEach((result, number) => settle(batch[number], result));
          show(done.state);
        } else { tell(line.dataset.refused + ": " + (await answer.text())); }
      }
    } catch { offline = true; }
    sending = false;
    keep();
    if (!offline && queue.some((one) => !one.asked)) setTimeout(send, 300);
  }

  // A photograph, as large as is needed to see what it shows. Without a connection it waits in this page.
  async function shoot(file) {
    shots.push(await small(file));
    await sendShots();
  }
  async function small(file) {
    try {
      const image = await createImageBitmap(file);
      const by = Math.min(1, 2048 / Math.max(image.width, image.height));
      const canvas = document.createElement("canvas");
      [canvas.width, canvas.height] = [Math.round(image.width * by), Math.round(image.height * by)];
      canvas.getContext("2d").drawImage(image, 0, 0, canvas.width, canvas.height);
      return await new Promise((done) => canvas.toBlob((blob) => done(blob || file), "image/jpeg", 0.85));
    } catch { return file; }
  }
  async function sendShots() {
    if (shooting) return tell();
    shooting = true;
    let refused;
    try {
      while (shots.length && !refused) {
        tell();
        const answer = await fetch("/photo?job=" + encodeURIComponent(job), { method: "POST", headers: { "x-bench-token": token }, body: shots[0] });
        if (answer.status === 401) { location.href = "/"; break; }
        offline = false;
        if (!answer.ok) refused = line.dataset.refused + ": " + (await answer.text());
        shots.shift();
      }
      await again();
    } catch { offline = true; }
    shooting = false;
    tell(refused);
  }

  function settle(sent, result) {
    const at = queue.findIndex((one) => one.row === sent.row);
    if (at < 0) return;
    const one = queue[at];
    if (result.became === "written") {
      // What was typed meanwhile is based on what is written now.
      if (one.value === sent.value) queue.splice(at, 1); else one.base = result.now;
      const row = rowOf(sent.row);
      if (row) row.dataset.base = result.now;
      // A new entry has a name of its own now.
      if (sent.row.includes("[+]")) also = also.filter((id) => !sent.row.startsWith(id));
    } else {
      one.asked = result;
    }
  }

  function ask() {
    for (const one of queue.filter((one) => one.asked)) {
      const row = rowOf(one.row);
      const place = row || main.querySelector(".whole");
      if ([...place.querySelectorAll(":scope > .choose")].some((box) => box.dataset.row === one.row && box.dataset.now === one.asked.now)) continue;
      place.querySelectorAll(":scope > .choose").forEach((box) => { if (box.dataset.row === one.row) box.remove(); });
      const box = document.createElement("div");
      box.className = "choose"; box.dataset.row = one.row; box.dataset.now = one.asked.now; box.setAttribute("role", "alert");
      const text = document.createElement("p");
      text.textContent = one.asked.became === "conflict" ? line.dataset.conflict : line.dataset.refused + ": " + one.asked.why + (row ? "" : " (" + one.row + ")");
      box.append(text);
      const button = (words, act) => { const b = document.createElement("button"); b.type = "button"; b.textContent = words; b.onclick = () => { box.remove(); act(); keep(); send(); }; box.append(b); };
      button(line.dataset.mine + " " + (one.value || "–"), () => { one.base = one.asked.now; delete one.asked; });
      button(line.dataset.theirs + " " + (one.asked.now || "–"), () => { queue = queue.filter((other) => other !== one); if (row) fill(row, one.asked.now); });
      place.append(box);
    }
  }

  // Puts a recorded text into a row.
  function fill(row, text) {
    row.dataset.base = text;
    for (const button of row.querySelectorAll("[data-say]")) if (button.hasAttribute("aria-pressed")) button.setAttribute("aria-pressed", String(button.dataset.say === text));
    const input = row.querySelector("[data-in]");
    if (!input) return;
    const unit = row.querySelector("[data-unit]");
    const parts = /^([+\-−]?[\d.,]+) (.+)$/.exec(text);
    if (unit && parts) {
      if (unit.tagName === "SELECT" && [...unit.options].some((one) => one.value === parts[2])) { unit.value = parts[2]; input.value = parts[1]; return; }
      if (unit.dataset.unit === parts[2]) { input.value = parts[1]; return; }
    }
    if (input.tagName === "SELECT" && ![...input.options].some((one) => one.value === text)) input.add(new Option(text, text));
    input.value = text;
  }

  function show(state, isTrial) {
    if (!state) return;
    if (!isTrial && state.shape !== shape()) { version = state.version; return again(); }
    put(document.getElementById("verdict"), state.top);
    for (const one of state.rows) {
      const row = rowOf(one.id);
      if (!row) continue;
      row.dataset.state = one.state;
      const notes = row.querySelector(":scope > .notes");
      if (notes) put(notes, one.notes);
      if (isTrial || row.dataset.base === one.base || queue.some((other) => other.row === one.id)) continue;
      if (row.contains(document.activeElement) && row.querySelector("[data-in]") && value(row) !== row.dataset.base) continue;
      fill(row, one.base);
    }
    for (const place of main.querySelectorAll("[data-notes]")) {
      if (place.parentElement.dataset.id) continue;
      put(place, state.others[place.dataset.notes] || "");
    }
    if (!isTrial) version = state.version;
    draw();
    ask();
  }
  const shape = () => main.querySelector("#shape")?.dataset.shape;

  // Puts what was fetched into a place. Each element that was there before stays: what is opened in it, what has the focus.
  function put(place, html) {
    const fresh = document.createElement("template");
    fresh.innerHTML = html;
    merge(place, fresh.content);
  }
  function merge(place, fresh) {
    const before = new Map();
    for (const node of place.childNodes) { const name = nameOf(node); before.set(name, [...(before.get(name) || []), node]); }
    const wanted = [...fresh.childNodes].map((node) => [node, before.get(nameOf(node))?.shift()]);
    for (const gone of [...before.values()].flat()) gone.remove();
    let at = place.firstChild;
    for (const [node, kept] of wanted) {
      if (!kept) { place.insertBefore(node, at); continue; }
      if (kept === at) at = at.nextSibling; else place.insertBefore(kept, at);
      if (kept.isEqualNode(node)) continue;
      if (node.nodeType !== Node.ELEMENT_NODE) { kept.data = node.data; continue; }
      for (const { name } of [...kept.attributes]) if (!node.hasAttribute(name) && name !== "open") kept.removeAttribute(name);
      for (const { name, value } of node.attributes) if (kept.getAttribute(name) !== value) kept.setAttribute(name, value);
      merge(kept, node);
    }
  }
  // By which an element is found again.
  function nameOf(node) {
    if (node.nodeType !== Node.ELEMENT_NODE) return node.nodeType;
    const { id, notes, series, all, tap } = node.dataset;
    return node.tagName + " " + (id ?? notes ?? series ?? all ?? tap ?? node.querySelector(":scope > h2, :scope > legend")?.textContent);
  }

  // The parts have changed: fetches them again; what is being typed stays, on the base of what was there when it was begun.
  async function again() {
    const answer = await fetch("/part?" + asked()).catch(() => null);
    if (!answer || !answer.ok) return;
    const html = await answer.text();
    const held = document.activeElement?.closest?.("[data-id]");
    const { id, base } = held?.dataset || {};
    const isTyped = held?.querySelector("[data-in]") && value(held) !== base;
    put(main, html);
    for (const row of rows()) if (isTyped && row.dataset.id === id) row.dataset.base = base; else fill(row, row.dataset.base);
    restore();
    if (id && !rowOf(id)?.contains(document.activeElement)) rowOf(id)?.querySelector("[data-in], button")?.focus();
    version = "";
    await look(true);
  }

  // Puts what was not sent yet back into the fields.
  function restore() {
    for (const one of queue) { const row = rowOf(one.row); if (row) { const base = row.dataset.base; fill(row, one.value); row.dataset.base = base; } }
    draw();
    ask();
  }

  const asked = () => "job=" + encodeURIComponent(job) + "&also=" + encodeURIComponent(also.join("\n"));

  async function look(once) {
    if (!sending || once) {
      try {
        const answer = await fetch("/state?" + asked() + "&since=" + version);
        if (answer.status === 401) location.href = "/";
        if (offline) { offline = false; tell(); }
        if (answer.status === 200) show(await answer.json());
      } catch { offline = true; tell(); }
      if (!offline && !once) { send(); if (shots.length) sendShots(); }
    }
    if (!once) setTimeout(() => look(), document.hidden ? 10000 : 3000);
  }

  document.querySelector("[data-next]")?.addEventListener("click", next);
  document.querySelector("[data-shot]")?.addEventListener("change", ({ target }) => {
    const [file] = target.files;
    target.value = "";
    if (file) shoot(file);
  });
  addEventListener("beforeunload", (event) => { if (shots.length) event.preventDefault(); });

  main.addEventListener("change", (event) => {
    const more = event.target.dataset.alsoOf;
    if (more !== undefined) { if (event.target.value) add((more ? more + "." : "") + event.target.value); return; }
    const all = event.target.closest("[data-all]");
    if (all) return everyone(all, value(all));
    const row = event.target.closest("[data-id]");
    if (!row) return;
    if (event.target.matches("[data-in]")) change(row, value(row));
    else if (event.target.matches("[data-unit]") && row.querySelector("[data-in]").value) change(row, value(row));
  });

  // While it is being typed, it is judged and not written.
  main.addEventListener("input", async (event) => {
    const row = event.target.closest("[data-id]");
    if (!row || !event.target.matches("input[data-in]")) return;
    const mine = ++trial;
    try {
      const answer = await post("/try", { job, also, changes: [{ row: row.dataset.id, base: row.dataset.base, value: value(row) }] });
      if (mine === trial && answer.ok) show((await answer.json()).state, true);
    } catch { /* it is judged when it is sent */ }
  });

  // The order of tightening: each screw that is tapped has the next turn.
  function tap(screw) {
    const row = rowOf(screw.dataset.tap);
    if (!row) return;
    const turn = (one) => parseInt(rowOf(one.dataset.tap)?.querySelector("[data-in]")?.value, 10) || 0;
    const last = Math.max(0, ...[...screw.parentElement.querySelectorAll("[data-tap]")].map(turn));
    const mine = turn(screw);
    if (mine && mine !== last) return;
    const text = mine ? "" : String(last + 1);
    const base = row.dataset.base;
    fill(row, text);
    row.dataset.base = base;
    change(row, text);
    draw();
  }
  function draw() {
    for (const screw of main.querySelectorAll("[data-tap]")) {
      const turn = rowOf(screw.dataset.tap)?.querySelector("[data-in]")?.value || "";
      screw.querySelector(".turn").textContent = turn;
      screw.toggleAttribute("data-done", turn !== "");
    }
  }
  main.addEventListener("keydown", (event) => {
    const screw = event.target.closest("[data-tap]");
    if (screw && (event.key === "Enter" || event.key === " ")) { event.preventDefault(); tap(screw); }
  });

  main.addEventListener("click", (event) => {
    const screw = event.target.closest("[data-tap]");
    if (screw) return tap(screw);
    const button = event.target.closest("button");
    if (!button) return;
    if (button.dataset.also) return add(button.dataset.also);
    if (button.dataset.takeOut) return takeOut(button);
    const row = button.closest("[data-id]");
    const all = button.closest("[data-all]");
    if (!row && !all) return;
    const place = row || all;
    const input = place.querySelector("[data-in]");
    let text = button.dataset.say;
    if (button.dataset.fill) text = { now: now(), today: now().slice(0, 10), none: "[]" }[button.dataset.fill];
    if (button.hasAttribute("data-watch")) { text = watch(button); if (text === undefined) return; }
    if (text === undefined) return;
    if (all) { if (input) input.value = text; return everyone(all, text); }
    if (button.getAttribute("aria-pressed") === "true") text = "";
    if (input) { const base = row.dataset.base; fill(row, text); row.dataset.base = base; }
    for (const other of row.querySelectorAll("[aria-pressed]")) other.setAttribute("aria-pressed", String(other.dataset.say === text));
    change(row, text);
  });

  // Adds a field or an entry to the page; the record has it when something is entered there.
  async function add(id) {
    if (!also.includes(id)) also.push(id);
    await again();
    const row = rowOf(id) || [...rows()].find((one) => one.dataset.id.startsWith(id));
    row?.querySelector("[data-in], [data-say]")?.focus();
  }

  // Takes an entry or a group out of the record, as it was seen; pressed once, the button asks.
  async function takeOut(button) {
    if (!button.hasAttribute("data-asked")) {
      const [text, label] = [button.textContent, button.ariaLabel];
      [button.textContent, button.ariaLabel] = [button.dataset.sure, label.replace(text, button.dataset.sure)];
      button.dataset.asked = "";
      setTimeout(() => { [button.textContent, button.ariaLabel] = [text, label]; delete button.dataset.asked; }, 6000);
      return;
    }
    const place = button.closest("fieldset, section");
    const seen = {};
    for (const row of place.querySelectorAll("[data-id]")) if (row.dataset.base) seen[row.dataset.id] = row.dataset.base;
    const isWaiting = (one) => [...place.querySelectorAll("[data-id]")].some((row) => row.dataset.id === one.row);
    if (sending || queue.some(isWaiting)) return send();
    try {
      const answer = await post("/change", { job, also, changes: [{ row: button.dataset.takeOut, base: "", value: "", take_out: seen }] });
      const result = answer.ok ? (await answer.json()).results[0] : { why: await answer.text() };
      if (result.became !== "written") tell(line.dataset.refused + ": " + result.why);
    } catch { offline = true; tell(); }
    await again();
  }

  // For all that are alike and still blank.
  function everyone(all, text) {
    const series = all.closest("[data-series]").dataset.series;
    const blank = [...main.querySelectorAll(`[data-of="${CSS.escape(series)}"] [data-name="${CSS.escape(all.dataset.all)}"]`)].filter((row) => row.dataset.base === "" && !queue.some((one) => one.row === row.dataset.id));
    for (const row of blank) { queue.push({ tab, row: row.dataset.id, base: "", value: text }); const base = row.dataset.base; fill(row, text); row.dataset.base = base; }
    keep();
    send();
  }

  function next() {
    const open = [...rows()].find((row) => ["held", "error", "todo"].includes(row.dataset.state) && row.querySelector("[data-in], [data-say]"));
    if (!open) return;
    open.scrollIntoView({ block: "center" });
    open.querySelector("[data-in], [data-say]").focus();
  }

  const running = new Map();
  function watch(button) {
    const begun = running.get(button);
    if (begun === undefined) {
      const show = () => { button.textContent = line.dataset.stop + " " + ((performance.now() - start) / 1000).toFixed(0) + " s"; };
      const start = performance.now();
      running.set(button, [start, setInterval(show, 500)]);
      show();
      return undefined;
    }
    clearInterval(begun[1]);
    running.delete(button);
    button.textContent = line.dataset.watch;
    return (Math.floor((performance.now() - begun[0]) / 100) / 10).toFixed(1) + " s";
  }

  function now() {
    const date = new Date();
    const two = (n) => String(n).padStart(2, "0");
    const away = -date.getTimezoneOffset();
    const offset = (away < 0 ? "-" : "+") + two(Math.floor(Math.abs(away) / 60)) + ":" + two(Math.abs(away) % 60);
    return `${date.getFullYear()}-${two(date.getMonth() + 1)}-${two(date.getDate())}T${two(date.getHours())}:${two(date.getMinutes())}:00${offset}`;
  }

  addEventListener("online", () => { offline = false; send(); });
  addEventListener("offline", () => { offline = true; tell(); });
  // A page that is left keeps what is being typed in it.
  const leave = () => {
    const row = document.activeElement?.closest?.("[data-id]");
    if (row?.querySelector("[data-in]") === document.activeElement) change(row, value(row));
  };
  addEventListener("pagehide", leave);
  document.addEventListener("visibilitychange", () => { if (document.hidden) leave(); });
  try { localStorage.setItem(store, JSON.stringify(queue)); } catch { /* said when something is kept */ }
  restore();
  keep();
  send();
  setTimeout(() => look(), 3000);
}
