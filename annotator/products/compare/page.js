"use strict";
(() => {
  const byId = (id) => document.getElementById(id);
  const score = byId("score");
  const fade = byId("fade");
  const reasons = JSON.parse(score.dataset.reasons);
  const counts = Object.entries(JSON.parse(score.dataset.counts));
  const switches = [...document.querySelectorAll("#kinds input")];
  const rows = [...document.querySelectorAll("#list button")];
  const music = { wide: [...score.querySelectorAll(".system")], narrow: [...byId("narrow").content.children] };
  const narrow = matchMedia("(max-width: 68rem)");
  const phone = matchMedia("(max-width: 34rem)");
  const still = matchMedia("(prefers-reduced-motion: reduce)");
  let lit = "";
  let systems = music.wide;
  let figures = [...score.querySelectorAll("[data-figure]")];

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
    byId("with-marks").setAttribute("aria-pressed", String(part > 0));
    drawCounts(part > 0 ? kinds : new Set());
  }

  // Without marks every note is to be read.
  function drawCounts(kinds) {
    switches.forEach((each) => {
      const words = each.parentElement.querySelector("[data-words]");
      const { notes, toRead } = words.dataset;
      words.textContent = filled(words.dataset.words, { notes, to_read: kinds.has(each.value) ? toRead : notes });
    });
    const notes = Number(score.dataset.notes);
    const greyed = counts.reduce((sum, [reason, count]) => sum + (holds(reason, kinds) ? count : 0), 0);
    byId("count").textContent = filled(score.dataset.words, { notes, to_read: notes - greyed });
  }

  function drawKinds() {
    const kinds = shown();
    figures.forEach((each) => each.classList.toggle("off", !kinds.has(each.dataset.kind)));
    rows.forEach((each) => { each.parentElement.hidden = !kinds.has(each.dataset.kind); });
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
    const target = Math.max((innerHeight - box.height) / 2, 0);
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
  // A phone gets the music in short systems.
  function lay() {
    const wanted = phone.matches ? music.narrow : music.wide;
    if (systems !== wanted) {
      const part = systems.findIndex((each) => each === dealt()[page]?.[0]) / systems.length;
      systems.forEach((each) => each.remove());
      score.append(...wanted);
      systems = wanted;
      figures = [...score.querySelectorAll("[data-figure]")];
      drawKinds();
      light(lit);
      page = standing() ? pageOf(Math.round(part * systems.length)) : 0;
    }
    if (standing()) showPage();
  }

  // On the stand there is nothing but music, a page at a time: as many systems as have room.
  const GAP = 12;
  let page = 0;
  let awake = null;
  const standing = () => document.body.classList.contains("stand");

  function dealt() {
    const room = innerHeight - 2 * GAP;
    const width = innerWidth - 2 * GAP;
    const pages = [];
    let left = 0;
    systems.forEach((each) => {
      const box = each.viewBox.baseVal;
      const height = Math.min((width * box.height) / box.width, room) + GAP;
      if (!pages.length || left < height - GAP) {
        pages.push([]);
        left = room;
      }
      pages.at(-1).push(each);
      left -= height;
    });
    return pages;
  }

  const pageOf = (system) => Math.max(dealt().findIndex((each) => each.includes(systems[system])), 0);

  function showPage() {
    const pages = dealt();
    page = Math.min(Math.max(page, 0), pages.length - 1);
    systems.forEach((each) => each.toggleAttribute("hidden", !pages[page].includes(each)));
    byId("page").textContent = filled(byId("page").dataset.words, { page: page + 1, pages: pages.length });
  }

  function turn(to) {
    page = to;
    byId("over").hidden = true;
    showPage();
  }

  function stand() {
    const seen = systems.findIndex((each) => each.getBoundingClientRect().bottom > innerHeight / 4);
    document.body.classList.add("stand");
    document.documentElement.requestFullscreen?.().catch(() => {});
    navigator.wakeLock?.request("screen").then((lock) => { awake = lock; }, () => {});
    turn(pageOf(Math.max(seen, 0)));
    score.focus({ preventScroll: true });
  }

  function leave() {
    if (!standing()) return;
    const first = dealt()[page][0];
    document.body.classList.remove("stand");
    byId("over").hidden = true;
    systems.forEach((each) => each.removeAttribute("hidden"));
    if (document.fullscreenElement) document.exitFullscreen().catch(() => {});
    awake?.release();
    awake = null;
    byId("to-stand").focus({ preventScroll: true });
    first.scrollIntoView({ block: "center", behavior: "instant" });
  }

  function standKey(event) {
    if (event.target.closest(".over") && ["Enter", " "].includes(event.key)) return;
    const [on, back, last] = [page + 1, page - 1, systems.length];
    const to = {
      PageDown: on, ArrowRight: on, ArrowDown: on, " ": on, Enter: on,
      PageUp: back, ArrowLeft: back, ArrowUp: back, Home: 0, End: last,
    }[event.key];
    if (event.key === "Tab") byId("over").hidden = false;
    if (event.key === "Escape") leave();
    if (to === undefined || event.ctrlKey || event.altKey || event.metaKey) return;
    event.preventDefault();
    turn(to);
  }

  // A tap turns the page: on at the right, back at the left third; at the upper edge it brings the bar.
  function standTap(event) {
    if (event.target.closest(".over")) return;
    if (event.clientY < innerHeight / 8) byId("over").hidden = !byId("over").hidden;
    else turn(page + (event.clientX < innerWidth / 3 ? -1 : 1));
  }

  byId("to-stand").addEventListener("click", (event) => { event.stopPropagation(); stand(); });
  byId("leave").addEventListener("click", (event) => { event.stopPropagation(); leave(); });
  byId("with-marks").addEventListener("click", () => fadeTo(Number(fade.value) > 0 ? 0 : 100));
  document.addEventListener("click", (event) => { if (standing()) standTap(event); });
  document.addEventListener("fullscreenchange", () => { if (!document.fullscreenElement) leave(); });
  addEventListener("resize", lay);

  score.addEventListener("click", (event) => {
    if (standing()) return;
    const figure = event.target.closest("[data-figure]");
    const row = figure && rowOf(figure.dataset.figure);
    light(row ? row.dataset.figure : "");
    if (row) showInList(row);
  });
  document.addEventListener("keydown", (event) => {
    if (standing()) standKey(event);
    else if (event.key === "Escape") light("");
  });

  // On a narrow window the lists begin folded; what the browser kept of an earlier visit is taken up.
  if (narrow.matches) [byId("kinds"), byId("figures")].forEach((each) => { each.open = false; });
  byId("desk").hidden = false;
  drawKinds();
  lay();
})();
