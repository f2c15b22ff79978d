// Moving the edge of a song on its plot: dragged, or with the arrow keys. Without this, the buttons below move it.
const x = (plot, at) => +plot.dataset.left + (at - plot.dataset.begin) / (plot.dataset.end - plot.dataset.begin) * (plot.dataset.right - plot.dataset.left);
const within = (plot, at) => Math.min(+plot.dataset.end, Math.max(+plot.dataset.begin, at));

function draw(plot, at) {
  const edge = plot.querySelector(".edge");
  if (!edge) return;
  edge.dataset.at = at;
  edge.querySelector("line").setAttribute("x1", x(plot, at));
  edge.querySelector("line").setAttribute("x2", x(plot, at));
  edge.querySelector("rect").setAttribute("x", x(plot, at) - 11);
  edge.setAttribute("aria-valuenow", at.toFixed(3));
  edge.setAttribute("aria-valuetext", words(at));
  plot.parentElement.querySelector(".at").textContent = words(at);
}

function words(at) {
  const seconds = (at % 60).toFixed(3).padStart(6, "0"), minutes = Math.floor(at / 60);
  return `${Math.floor(minutes / 60)}:${String(minutes % 60).padStart(2, "0")}:${seconds}`;
}

function keep(plot) {
  const by = +plot.querySelector(".edge").dataset.at - plot.dataset.now;
  if (Math.abs(by) < 0.0005) return;
  const form = document.getElementById(plot.dataset.form);
  const values = Object.fromEntries(new FormData(form));
  window.htmx.ajax("POST", form.action, { target: "body", swap: "innerHTML show:none", values: { ...values, by_s: by.toFixed(4) } })
    .then(() => document.querySelector(`svg[data-edge="${plot.dataset.edge}"] .edge`)?.focus({ preventScroll: true }));
}

document.addEventListener("pointerdown", event => {
  const edge = event.target.closest?.(".edge[tabindex]");
  if (!edge || event.button) return;
  event.preventDefault();
  const plot = edge.ownerSVGElement;
  const follow = moved => {
    const point = new DOMPoint(moved.clientX, moved.clientY).matrixTransform(plot.getScreenCTM().inverse());
    const share = (point.x - plot.dataset.left) / (plot.dataset.right - plot.dataset.left);
    draw(plot, within(plot, +plot.dataset.begin + share * (plot.dataset.end - plot.dataset.begin)));
  };
  const stop = () => { removeEventListener("pointermove", follow); removeEventListener("pointerup", done); removeEventListener("pointercancel", back); };
  const done = () => { stop(); keep(plot); };
  const back = () => { stop(); draw(plot, +plot.dataset.now); };
  addEventListener("pointermove", follow);
  addEventListener("pointerup", done);
  addEventListener("pointercancel", back);
  edge.focus({ preventScroll: true });
});

document.addEventListener("keydown", event => {
  const edge = event.target.closest?.(".edge[tabindex]");
  if (!edge) return;
  const plot = edge.ownerSVGElement, step = event.shiftKey ? 0.5 : 0.02;
  const by = { ArrowLeft: -step, ArrowRight: step }[event.key];
  if (by) draw(plot, within(plot, +edge.dataset.at + by));
  else if (event.key === "Enter") keep(plot);
  else if (event.key === "Escape") draw(plot, +plot.dataset.now);
  else return;
  event.preventDefault();
});
