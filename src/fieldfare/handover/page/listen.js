"use strict";
(() => {
  const root = document.documentElement;
  const words = JSON.parse(document.body.dataset.words);
  const t = (message) => words[message];
  const key = "fieldfare " + document.title + " " + location.pathname;
  const kept = { get: (name) => { try { return localStorage.getItem(key + name); } catch { return null; } },
    set: (name, value) => { try { localStorage.setItem(key + name, value); } catch { /* the page works without */ } } };
  const clock = (seconds) => {
    const whole = Math.max(0, Math.floor(seconds || 0));
    const part = (n) => String(n).padStart(2, "0");
    const hours = Math.floor(whole / 3600);
    return (hours ? hours + ":" + part(Math.floor(whole / 60) % 60) : Math.floor(whole / 60)) + ":" + part(whole % 60);
  };

  const light = document.getElementById("light");
  const isDark = () => root.dataset.light ? root.dataset.light === "stage" : matchMedia("(prefers-color-scheme: dark)").matches;
  const show = () => { light.textContent = isDark() ? t("Paper") : t("Dark"); light.setAttribute("aria-pressed", String(isDark())); };
  if (kept.get("light")) root.dataset.light = kept.get("light");
  light.addEventListener("click", () => { root.dataset.light = isDark() ? "paper" : "stage"; kept.set("light", root.dataset.light); show(); });
  show();

  const players = [...document.querySelectorAll(".player")];
  players.forEach((player) => {
    const audio = player.querySelector("audio");
    const button = player.querySelector(".play");
    const seek = player.querySelector(".seek");
    const time = player.querySelector(".time");
    const tell = () => {
      const long = Number.isFinite(audio.duration) ? audio.duration : 0;
      const at = clock(audio.currentTime);
      time.textContent = long ? t("{n} of {n2}").replace("{n}", at).replace("{n2}", clock(long)) : at;
      if (long) seek.value = String(Math.round(1000 * audio.currentTime / long));
      seek.setAttribute("aria-valuetext", time.textContent);
    };
    button.addEventListener("click", () => {
      if (!audio.paused) { audio.pause(); return; }
      players.forEach((other) => { if (other !== player) other.querySelector("audio").pause(); });
      audio.play().catch(() => { time.textContent = t("cannot be played here: open the file"); });
    });
    audio.addEventListener("play", () => { button.textContent = t("Pause"); button.classList.add("playing"); });
    audio.addEventListener("pause", () => { button.textContent = t("Play"); button.classList.remove("playing"); });
    audio.addEventListener("error", () => { time.textContent = t("cannot be played here: open the file"); });
    ["timeupdate", "loadedmetadata", "ended"].forEach((name) => audio.addEventListener(name, tell));
    seek.addEventListener("input", () => { if (audio.duration) audio.currentTime = audio.duration * Number(seek.value) / 1000; });
  });

  const sections = [...document.querySelectorAll("section[data-title]")];
  sections.forEach((section, place) => {
    const words = section.querySelector("textarea");
    words.value = kept.get(" " + place) || "";
    words.addEventListener("input", () => kept.set(" " + place, words.value));
    section.querySelector(".moment").addEventListener("click", () => {
      const used = [...section.querySelectorAll(".player")].sort((a, b) => b.querySelector("audio").currentTime - a.querySelector("audio").currentTime);
      const playing = used.find((one) => !one.querySelector("audio").paused) || used[0];
      const at = playing ? clock(playing.querySelector("audio").currentTime) : "0:00";
      const which = used.length > 1 ? " " + playing.dataset.label : "";
      words.value += (words.value && !words.value.endsWith("\n") ? "\n" : "") + at + which + " ";
      kept.set(" " + place, words.value);
      words.focus();
    });
  });

  const copy = document.getElementById("copy");
  if (copy) copy.addEventListener("click", async () => {
    const lines = [document.querySelector("h1").textContent];
    sections.forEach((section, place) => {
      const words = section.querySelector("textarea").value.trim();
      if (words) lines.push("", (place + 1) + " " + section.dataset.title, words);
    });
    const all = document.getElementById("all");
    const said = document.getElementById("said");
    all.hidden = false;
    all.value = lines.join("\n") + "\n";
    all.select();
    let done = false;
    try { await navigator.clipboard.writeText(all.value); done = true; } catch { done = document.execCommand("copy"); }
    said.textContent = done ? t("Copied: paste it into a mail.") : t("Select the text below and copy it.");
  });
})();
