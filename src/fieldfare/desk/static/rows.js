// Moving a row of the input list: dragged by its grip, or with the arrow keys. Without this, the number is typed.
const start = (root) => root.querySelectorAll?.("table[data-rows]").forEach(table => {
  if (table.dataset.ready) return;
  table.dataset.ready = "yes";
  table.querySelectorAll("tr[data-id]").forEach(row => row.querySelector("th").prepend(grip(table, row)));
});

function grip(table, row) {
  const button = document.createElement("button");
  button.type = "button";
  button.className = "grip";
  button.textContent = "≡";
  const label = row.querySelector(".label").textContent;
  button.setAttribute("aria-label", `Move ${label}: drag it, or press arrow up or arrow down`);
  button.addEventListener("keydown", event => {
    const step = { ArrowUp: -1, ArrowDown: 1 }[event.key];
    if (!step) return;
    event.preventDefault();
    const rows = [...table.querySelectorAll("tr[data-id]")];
    const other = rows[rows.indexOf(row) + step];
    if (other) move(table, row, other.dataset.number);
  });
  button.addEventListener("pointerdown", event => drag(table, row, button, event));
  return button;
}

function drag(table, row, button, event) {
  if (event.button) return;
  button.setPointerCapture(event.pointerId);
  row.classList.add("dragged");
  let target = null;
  const over = moved => {
    const found = document.elementFromPoint(moved.clientX, moved.clientY)?.closest("tr[data-id]");
    target?.classList.remove("target");
    target = found && found !== row ? found : null;
    target?.classList.add("target");
  };
  const done = () => {
    button.removeEventListener("pointermove", over);
    row.classList.remove("dragged");
    target?.classList.remove("target");
    if (target) move(table, row, target.dataset.number);
  };
  button.addEventListener("pointermove", over);
  button.addEventListener("pointerup", done, { once: true });
  button.addEventListener("pointercancel", () => { target = null; done(); }, { once: true });
}

async function move(table, row, number) {
  const csrf = document.querySelector('meta[name="csrf"]').content;
  const id = row.dataset.id;
  await window.htmx.ajax("POST", `${table.dataset.rows}/${encodeURIComponent(id)}/move`, {
    target: "body", swap: "innerHTML show:none", values: { number, csrf },
  });
  document.getElementById(id)?.querySelector(".grip")?.focus();
}

start(document);
document.addEventListener("htmx:load", event => start(event.detail.elt.parentElement ?? document));
