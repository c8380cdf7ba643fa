"use strict";
(() => {
  const byId = (id) => document.getElementById(id);
  const score = byId("score");
  const fade = byId("fade");
  const reasons = JSON.parse(score.dataset.reasons);
  const counts = Object.entries(JSON.parse(score.dataset.counts));
  const switches = [...document.querySelectorAll("#kinds input")];
  const rows = [...document.querySelectorAll("#list button")];
  const figures = [...score.querySelectorAll("[data-figure]")];
  const narrow = matchMedia("(max-width: 68rem)");
  const still = matchMedia("(prefers-reduced-motion: reduce)");
  let lit = "";

  const filled = (words, values) => words.replace(/\{([a-z_]+)\}/g, (whole, name) => values[name] ?? whole);
  const channels = (colour) => [1, 3, 5].map((at) => parseInt(colour.slice(at, at + 2), 16));
  const [ink, grey] = [channels(score.dataset.ink), channels(score.dataset.grey)];

  // A note is grey for any one kind of its reason that is switched on; what several notes share needs a reason for each.
  const shown = () => new Set(switches.filter((each) => each.checked).map((each) => each.value));
  const holds = (reason, kinds) => reason.split(",").every((each) => each.split(" ").some((kind) => kinds.has(kind)));

  function drawGreys() {
    const part = fade.value / 100;
    const kinds = shown();
    const mixed = ink.map((value, at) => Math.round(value + (grey[at] - value) * part));
    reasons.forEach((reason, index) => {
      score.style.setProperty(`--g${index}`, `rgb(${(holds(reason, kinds) ? mixed : ink).join(", ")})`);
    });
    score.style.setProperty("--fade", part);
    score.classList.toggle("at-plain", part === 0);
    score.classList.toggle("bare", kinds.size === 0);
    fade.setAttribute("aria-valuetext", filled(fade.dataset.words, { percent: fade.value }));
  }

  function drawKinds() {
    const kinds = shown();
    figures.forEach((each) => each.classList.toggle("off", !kinds.has(each.dataset.kind)));
    rows.forEach((each) => { each.parentElement.hidden = !kinds.has(each.dataset.kind); });
    switches.forEach((each) => {
      const words = each.parentElement.querySelector("[data-words]");
      const { notes, toRead } = words.dataset;
      words.textContent = filled(words.dataset.words, { notes, to_read: each.checked ? toRead : notes });
    });
    const notes = Number(score.dataset.notes);
    const greyed = counts.reduce((sum, [reason, count]) => sum + (holds(reason, kinds) ? count : 0), 0);
    byId("count").textContent = filled(score.dataset.words, { notes, to_read: notes - greyed });
    if (lit && !rowOf(lit)) light("");
    reachable(rowOf(lit) || inView()[0]);
    drawGreys();
  }

  const inView = () => rows.filter((each) => !each.parentElement.hidden);
  const rowOf = (figure) => inView().find((each) => each.dataset.figure === figure);

  // Of the whole list one entry can be reached by Tab; arrows go on from there.
  function reachable(row) {
    rows.forEach((each) => { each.tabIndex = each === row ? 0 : -1; });
  }

  function light(figure) {
    lit = figure;
    figures.forEach((each) => each.classList.toggle("lit", each.dataset.figure === figure));
    rows.forEach((each) => each.setAttribute("aria-current", String(each.dataset.figure === figure)));
    const row = rowOf(figure);
    byId("lit").textContent = row ? row.dataset.words : "";
    if (row) reachable(row);
  }

  function showInScore(figure) {
    const place = figures.find((each) => each.dataset.figure === figure);
    if (!place) return;
    const box = place.getBoundingClientRect();
    const top = narrow.matches ? byId("desk").getBoundingClientRect().bottom : 0;
    const height = innerHeight - top;
    const target = top + Math.max((height - box.height) / 2, 0);
    scrollBy({ top: box.top - target, behavior: still.matches ? "instant" : "smooth" });
  }

  function showInList(row) {
    const list = byId("figures");
    if (!list.open) return;
    const [place, room] = [row.getBoundingClientRect(), list.getBoundingClientRect()];
    if (place.top < room.top + 48 || place.bottom > room.bottom) list.scrollTop += place.top - room.top - room.height / 2;
    row.focus({ preventScroll: true });
  }

  function choose(row) {
    light(row.dataset.figure);
    showInList(row);
    showInScore(row.dataset.figure);
  }

  function fadeTo(value) {
    fade.value = value;
    drawGreys();
  }

  fade.addEventListener("input", drawGreys);
  byId("to-plain").addEventListener("click", () => fadeTo(0));
  byId("to-marked").addEventListener("click", () => fadeTo(100));
  switches.forEach((each) => each.addEventListener("change", drawKinds));

  byId("list").addEventListener("click", (event) => {
    const row = event.target.closest("button");
    if (row) choose(row);
  });
  byId("list").addEventListener("keydown", (event) => {
    const all = inView();
    const here = all.indexOf(document.activeElement);
    const next = { ArrowDown: here + 1, ArrowUp: here - 1, Home: 0, End: all.length - 1 }[event.key];
    if (next === undefined || here < 0) return;
    event.preventDefault();
    if (all[next]) choose(all[next]);
  });
  score.addEventListener("click", (event) => {
    const figure = event.target.closest("[data-figure]");
    const row = figure && rowOf(figure.dataset.figure);
    light(row ? row.dataset.figure : "");
    if (row) showInList(row);
  });
  document.addEventListener("keydown", (event) => {
    if (event.key === "Escape") light("");
  });

  // On a narrow window the lists begin folded; what the browser kept of an earlier visit is taken up.
  if (narrow.matches) [byId("kinds"), byId("figures")].forEach((each) => { each.open = false; });
  byId("desk").hidden = false;
  drawKinds();
})();
