// Dragging on the stage: by mouse, by touch, by keyboard. The server draws; while something moves it draws what would be.
const REST_MS = 80, LONGEST_MS = 700; // a hand that rests is shown what would be; one that moves on and on, now and then
let asked = false, wanted = null, holding = null, resting = 0, latest = 0;

document.addEventListener("pointerdown", event => {
  const handle = event.target.closest?.(".handle[tabindex]");
  if (!handle || event.button) return;
  event.preventDefault();
  begin(handle);
  const svg = handle.ownerSVGElement;
  const follow = moved => { if (moved.pointerId === event.pointerId) to(place(moved.clientX, moved.clientY)); };
  const end = () => {
    removeEventListener("pointermove", follow);
    removeEventListener("pointerup", end);
    removeEventListener("pointercancel", cancel);
    keep();
  };
  const cancel = () => { holding = null; end(); restore(); };
  addEventListener("pointermove", follow);
  addEventListener("pointerup", end);
  addEventListener("pointercancel", cancel);
  svg.querySelector(`.handle[data-name="${CSS.escape(handle.dataset.name)}"]`)?.focus({ preventScroll: true });
});

document.addEventListener("keydown", event => {
  const handle = event.target.closest?.(".handle[tabindex]");
  if (!handle) return;
  const step = event.shiftKey ? 0.5 : 0.1;
  const [dx, dy] = { ArrowLeft: [-step, 0], ArrowRight: [step, 0], ArrowUp: [0, step], ArrowDown: [0, -step] }[event.key] ?? [0, 0];
  if (dx || dy) {
    event.preventDefault();
    if (!holding || holding.name !== handle.dataset.name) begin(handle);
    to([holding.x + dx, holding.y + dy]);
  } else if (event.key === "Enter" && holding) {
    event.preventDefault();
    keep();
  } else if (event.key === "Escape" && holding) {
    restore();
  }
});

function begin(handle) {
  const { what, name, x, y } = handle.dataset;
  holding = { what, name, x: +x, y: +y, from: [+x, +y], moved: false };
  latest = performance.now();
}

function sheet() { return document.querySelector("#drawing .sheet"); }

// What a drop did stands there at once; the plan takes a moment, and until it comes the page says so.
function planning(text) {
  const line = document.createElement("p");
  line.id = "planning";
  line.textContent = text;
  document.querySelector(".changes").replaceChildren(line);
  sheet().setAttribute("aria-busy", "true");
}

function place(clientX, clientY) {
  const svg = sheet().querySelector("svg");
  const point = new DOMPoint(clientX, clientY).matrixTransform(svg.getScreenCTM().inverse());
  const [ox, oy] = sheet().dataset.origin.split(" ").map(Number);
  const scale = +sheet().dataset.mmPerM;
  return [(point.x - ox) / scale, (oy - point.y) / scale];
}

function to([x, y]) {
  if (!holding) return;
  holding.x = Math.round(x * 20) / 20;
  holding.y = Math.round(y * 20) / 20;
  holding.moved = holding.x !== holding.from[0] || holding.y !== holding.from[1];
  mark();
  wanted = { ...holding };
  clearTimeout(resting);
  resting = setTimeout(ask, performance.now() - latest > LONGEST_MS ? 0 : REST_MS);
}

function mark(held = holding) {
  const found = [...sheet().querySelectorAll(".handle")].find(one => one.dataset.name === held?.name && one.dataset.what === held.what);
  if (!found) return;
  const [ox, oy] = sheet().dataset.origin.split(" ").map(Number);
  const scale = +sheet().dataset.mmPerM;
  const circle = found.querySelector("circle");
  circle.setAttribute("cx", ox + held.x * scale);
  circle.setAttribute("cy", oy - held.y * scale);
  found.classList.add("held");
}

async function ask() {
  if (!wanted || asked) return;
  const now = wanted;
  wanted = null;
  asked = true;
  try {
    const query = new URLSearchParams({ what: now.what, name: now.name, x: now.x, y: now.y });
    const answer = await fetch(`${sheet().dataset.base}/stage/try?${query}`);
    if (answer.ok && holding) show(await answer.text());
  } finally {
    asked = false;
    latest = performance.now();
    if (wanted) resting = setTimeout(ask, REST_MS);
  }
}

function show(text) {
  const focused = document.activeElement?.closest?.(".handle")?.dataset.name;
  const drawing = document.getElementById("drawing");
  const left = drawing.querySelector(".scroll")?.scrollLeft ?? 0;
  drawing.innerHTML = text;
  drawing.querySelector(".scroll").scrollLeft = left;
  if (holding) mark();
  if (focused) drawing.querySelector(`.handle[data-name="${CSS.escape(focused)}"]`)?.focus({ preventScroll: true });
}

async function restore() {
  holding = null;
  wanted = null;
  const name = document.activeElement?.closest?.(".handle")?.dataset.name;
  await window.htmx.ajax("GET", `${sheet().dataset.base}/stage`, { target: "body", swap: "innerHTML show:none" });
  if (name) document.querySelector(`.handle[data-name="${CSS.escape(name)}"]`)?.focus({ preventScroll: true });
}

async function keep() {
  const held = holding;
  holding = null;
  wanted = null;
  if (!held?.moved) return;
  mark(held);
  planning(`${held.name} is put down here. The plan with it there is being made.`);
  const csrf = document.querySelector('meta[name="csrf"]').content;
  const values = { what: held.what, name: held.name, x: held.x, y: held.y, csrf };
  const asked = window.htmx.ajax("POST", `${sheet().dataset.base}/stage/place`, { target: "body", swap: "innerHTML show:none", values });
  await asked.catch(() => {}); // who asked is told by the page itself
  if (document.getElementById("planning")) refused(held);
  document.querySelector(`.handle[data-name="${CSS.escape(held.name)}"]`)?.focus({ preventScroll: true });
}

// What could not be kept goes back to where it was; why stands above.
function refused(held) {
  document.getElementById("planning").remove();
  sheet().removeAttribute("aria-busy");
  mark({ ...held, x: held.from[0], y: held.from[1] });
}
