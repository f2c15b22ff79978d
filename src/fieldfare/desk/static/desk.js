// What every page shares: a word to whoever works without the desk answering, and what was typed is never lost.
let silent = false;
const asked = event => !event.detail.elt.matches("[hx-trigger*=every]"); // by a person, not by the clock
document.addEventListener("htmx:sendError", () => {
  silent = true;
  say("The desk does not answer. What was typed is still here; try again once it runs.");
});
document.addEventListener("htmx:beforeRequest", event => { if (asked(event)) say(""); });
document.addEventListener("htmx:afterOnLoad", event => {
  if (silent && !asked(event)) say(""); // it answers again
  silent = false;
});

function say(text) {
  const place = document.getElementById("fault");
  if (!place) return;
  place.replaceChildren();
  if (text) {
    const line = document.createElement("p");
    line.className = "bad";
    line.textContent = text;
    place.append(line);
  }
}
