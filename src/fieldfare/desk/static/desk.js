// What every page shares: a word to whoever works without the desk answering, and what was typed is never lost.
document.addEventListener("htmx:sendError", () => say("The desk does not answer. What was typed is still here; try again once it runs."));
document.addEventListener("htmx:beforeRequest", () => say(""));

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
