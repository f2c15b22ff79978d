// The night on a phone: each event is kept on the phone first and sent when the desk answers, under an id of its own.
const root = () => document.querySelector("[data-night]");
const queueKey = () => `fieldfare queue ${root().dataset.base}`;
const read = () => JSON.parse(localStorage.getItem(queueKey()) ?? "[]");
const write = events => { localStorage.setItem(queueKey(), JSON.stringify(events)); waiting(); };
let sending = false;

function random() {
  return [...crypto.getRandomValues(new Uint8Array(16))].map(one => one.toString(16).padStart(2, "0")).join("");
}

function device() {
  let name = localStorage.getItem("fieldfare device");
  if (!name) localStorage.setItem("fieldfare device", name = `phone ${random().slice(0, 6)}`);
  return name;
}

function waiting() {
  const count = read().length;
  const place = root()?.querySelector("[data-waiting]");
  if (place) place.textContent = count ? `${count} not sent yet; kept on this device` : "";
}

document.addEventListener("submit", event => {
  const form = event.target.closest?.("form[data-event]");
  if (!form) return;
  event.preventDefault();
  const said = new FormData(form, event.submitter);
  let about = String(said.get("about") ?? "").trim();
  if ("typed" in form.dataset) {
    about = known(about, form);
    if (!about) return;
    form.reset();
  }
  let kind = said.get("kind");
  const unit = event.submitter?.closest("[data-unit]");
  if (unit?.getAttribute("aria-pressed") === "true") kind = root().dataset.way === "back" ? "packed" : "open";
  const text = String(said.get("text") ?? "").trim();
  if (kind === "note" && !text) { form.querySelector("[name=text]")?.focus(); return; }
  const one = { id: random(), device: device(), kind, about, text, at: new Date().toISOString() };
  write([...read(), one]);
  apply(one);
  const field = form.querySelector("input[name=text]");
  if (field) field.value = "";
  flush();
  if (root().dataset.night === "check" && kind !== "note") next(about);
});

function known(said, form) {
  const units = [...root().querySelectorAll("[data-unit]")].map(one => one.dataset.unit);
  const tag = tagOf(said);
  const found = units.find(one => one.toLowerCase() === tag.toLowerCase());
  form.querySelector("[data-unknown]").textContent = found ? "" : `${tag || "Nothing"} is not on the pack list. Ask whose it is before it goes into the van.`;
  return found ?? "";
}

const tagOf = text => text.trim().split(/[\s/#=]+/).pop() ?? "";

async function flush() {
  const some = read().slice(0, 200);
  if (!some.length || sending) return;
  sending = true;
  try {
    let answer = await post(some);
    if (answer.status === 403 && await renew()) answer = await post(some);
    if (!answer.ok) return;
    const done = await answer.json();
    const arrived = new Set([...done.added, ...done.known, ...done.refused]);
    write(read().filter(one => !arrived.has(one.id)));
  } catch { /* out of reach: it is kept, and tried again */ } finally {
    sending = false;
    waiting();
  }
}

function post(event) {
  return fetch(`${root().dataset.base}/events`, {
    method: "POST",
    headers: { "content-type": "application/json", "x-csrf-token": document.querySelector('meta[name="csrf"]').content },
    body: JSON.stringify({ event }),
  });
}

async function renew() {
  const page = new DOMParser().parseFromString(await (await fetch(location.href)).text(), "text/html");
  const token = page.querySelector('meta[name="csrf"]')?.content;
  if (token) document.querySelector('meta[name="csrf"]').content = token;
  return Boolean(token);
}

async function listen() {
  if (!root()) return;
  try {
    const answer = await fetch(`${root().dataset.base}/events?after=${root().dataset.latest}`, { headers: { accept: "application/json" } });
    if (answer.ok) {
      const news = await answer.json();
      root().dataset.latest = news.latest;
      const own = new Set(read().map(one => one.about));
      news.event.filter(one => !own.has(one.about) || one.kind === "marked").forEach(apply);
      flush();
    }
  } catch { /* out of reach */ }
}

const seen = new Set();
function apply(one) {
  if (seen.has(one.id)) return;
  seen.add(one.id);
  line(one);
  unit(one);
  mark(one);
  warn(one);
}

function warn(one) {
  if (one.device !== "the watch" || !root()) return;
  const list = root().querySelector("[data-watch]");
  const clock = document.createElement("b"), words = document.createElement("span");
  clock.textContent = new Date(one.at).toLocaleTimeString("en-GB");
  words.textContent = ` ${one.text}`;
  words.className = "bad";
  if (list) {
    const item = document.createElement("li");
    item.append(clock, words);
    list.prepend(item);
    return;
  }
  let place = root().querySelector("[data-warning]");
  if (!place) {
    place = document.createElement("p");
    place.dataset.warning = "";
    place.className = "warning";
    place.setAttribute("role", "alert");
    root().prepend(place);
  }
  place.replaceChildren(clock, words);
}

function line(one) {
  const section = [...document.querySelectorAll("[data-line]")].find(part => part.dataset.line === one.about);
  if (!section) return;
  const said = section.querySelector("[data-said]");
  if (one.kind !== "note") {
    section.dataset.state = one.kind;
    const chip = [...document.querySelectorAll("[data-chip]")].find(part => part.dataset.chip === one.about);
    chip.className = `chip ${one.kind}`;
    chip.setAttribute("aria-label", `${chip.textContent}, ${{ checked: "checked", faulty: "faulty" }[one.kind] ?? "to go"}`);
    said.querySelector(".bad")?.remove();
    const swap = section.querySelector(".swap");
    if (swap) swap.hidden = one.kind !== "faulty";
  }
  if (one.text || one.kind === "faulty") {
    const words = document.createElement("p");
    words.className = one.kind === "faulty" ? "bad" : "";
    words.textContent = one.text || "Wrong or silent";
    said.prepend(words);
  }
  const states = [...document.querySelectorAll("[data-line]")].map(part => part.dataset.state);
  const good = states.filter(state => state === "checked").length, bad = states.filter(state => state === "faulty").length;
  root().querySelector("[data-counts]").textContent = `${good} checked, ${bad} faulty, ${states.length - good - bad} to go`;
}

function next(from) {
  const all = [...document.querySelectorAll("[data-line]")];
  const at = all.findIndex(part => part.dataset.line === from);
  const rest = [...all.slice(at + 1), ...all.slice(0, at)];
  const other = rest.find(part => !["checked", "faulty"].includes(part.dataset.state));
  if (other) show(other.dataset.line);
}

function show(id) {
  document.querySelectorAll("[data-line]").forEach(part => { part.hidden = part.dataset.line !== id; });
  document.querySelectorAll("[data-chip]").forEach(chip => chip.toggleAttribute("aria-current", chip.dataset.chip === id));
}

document.addEventListener("click", event => {
  const chip = event.target.closest?.("[data-chip]");
  if (!chip) return;
  event.preventDefault();
  event.stopPropagation();
  show(chip.dataset.chip);
}, true);

function unit(one) {
  const button = [...document.querySelectorAll("[data-unit]")].find(part => part.dataset.unit === one.about);
  if (!button || !["packed", "back", "open"].includes(one.kind)) return;
  const counted = one.kind === "back" || (one.kind === "packed" && root().dataset.way === "out");
  button.classList.toggle("counted", counted);
  button.setAttribute("aria-pressed", String(counted));
  const all = [...document.querySelectorAll("[data-unit]")];
  const done = all.filter(part => part.getAttribute("aria-pressed") === "true").length;
  root().querySelector("[data-counts]").textContent = `${done} of ${all.length} counted ${root().dataset.way}`;
}

function mark(one) {
  const list = document.querySelector("[data-marks]");
  if (!list || !["marked", "note", "faulty"].includes(one.kind)) return;
  const item = document.createElement("li"), clock = document.createElement("b"), words = document.createElement("span"), who = document.createElement("span");
  clock.textContent = new Date(one.at).toLocaleTimeString("en-GB");
  words.textContent = ` ${one.about} ${one.text || one.kind} `;
  who.textContent = one.device;
  who.className = "soft small";
  item.append(clock, words, who);
  list.prepend(item);
  const song = document.querySelector("[data-song]");
  if (song && one.text === `song: ${song.value}` && song.selectedIndex < song.options.length - 1) {
    song.selectedIndex += 1;
    nameSong(song);
  }
}

function nameSong(song) {
  const button = document.querySelector("[data-song-button]");
  button.value = `song: ${song.value}`;
  button.textContent = `Begins: ${song.value}`;
}
document.addEventListener("change", event => { if (event.target.matches?.("[data-song]")) nameSong(event.target); });

async function camera(button) {
  const picture = button.form.querySelector("[data-picture]");
  if (!picture.hidden) {
    picture.srcObject?.getTracks().forEach(track => track.stop());
    picture.hidden = true;
    return;
  }
  picture.srcObject = await navigator.mediaDevices.getUserMedia({ video: { facingMode: "environment" } });
  picture.hidden = false;
  await picture.play();
  const detector = new BarcodeDetector({ formats: ["qr_code"] });
  const last = new Map();
  const look = async () => {
    if (picture.hidden) return;
    for (const code of await detector.detect(picture)) {
      const tag = tagOf(code.rawValue);
      if (Date.now() - (last.get(tag) ?? 0) < 3000) continue;
      last.set(tag, Date.now());
      button.form.elements.about.value = tag;
      button.form.requestSubmit();
    }
    setTimeout(look, 200);
  };
  look();
}

function start() {
  if (!root()) return;
  read().forEach(apply);
  waiting();
  flush();
  const button = root().querySelector("[data-camera]");
  if (button && "BarcodeDetector" in window && navigator.mediaDevices) {
    button.hidden = false;
    button.addEventListener("click", () => camera(button).catch(() => { button.form.querySelector("[data-unknown]").textContent = "The camera cannot be used; type the tag."; }));
  }
}

start();
document.addEventListener("htmx:load", start);
addEventListener("online", flush);
setInterval(listen, 4000);
