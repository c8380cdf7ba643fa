"use strict";
// The page works without this script, but for sorting, finding, and going from a dot to its row. Nothing is fetched and nothing is stored.
(() => {
  const table = document.getElementById("scores");
  if (!table) return;
  const body = table.tBodies[0];
  const rows = [...body.rows];
  const headings = [...table.tHead.rows[0].cells];
  const dots = [...document.querySelectorAll("#scatter .dot")];
  const dotOf = new Map(dots.map(dot => [dot.dataset.rank, dot]));
  const rowOf = new Map(rows.map(row => [row.dataset.rank, row]));
  const collator = new Intl.Collator(document.documentElement.lang, { numeric: true, sensitivity: "base" });

  // Sorting: the first press sorts upwards, the next turns it round; equals keep the order of the survey, empty texts go last.
  const sort = heading => {
    const place = headings.indexOf(heading);
    const down = heading.getAttribute("aria-sort") === "ascending";
    const numbers = heading.dataset.sort === "number";
    const keys = new Map(rows.map(row => {
      const value = row.cells[place].dataset.value ?? row.cells[place].textContent;
      return [row, numbers ? Number(value) : value];
    }));
    const compare = numbers ? (a, b) => a - b : (a, b) => collator.compare(a, b);
    const ordered = [...rows].sort((one, other) => {
      const a = keys.get(one), b = keys.get(other);
      if (!numbers && (a === "") !== (b === "")) return a === "" ? 1 : -1;
      return down ? compare(b, a) : compare(a, b);
    });
    headings.forEach(each => each.removeAttribute("aria-sort"));
    heading.setAttribute("aria-sort", down ? "descending" : "ascending");
    body.replaceChildren(...ordered);
    if (rows.length > most) find();
  };
  headings.forEach(heading => heading.querySelector("button").addEventListener("click", () => sort(heading)));

  // Finding: every word typed must stand in title, composer, file or figures, whatever its accents. Of a very large library the first thousand rows are laid out.
  const field = document.getElementById("find"), shown = document.getElementById("shown"), all = document.getElementById("all");
  let most = 1000;
  const plain = text => text.toLowerCase().replaceAll("ß", "ss").normalize("NFD").replace(/\p{M}/gu, "");
  const texts = new Map(rows.map(row => [row, plain(row.dataset.find)]));
  const find = () => {
    const words = plain(field.value).split(/\s+/).filter(Boolean);
    let count = 0;
    for (const row of [...body.rows]) {
      const fits = words.every(word => texts.get(row).includes(word));
      count += fits;
      row.hidden = !fits || count > most;
      dotOf.get(row.dataset.rank).classList.toggle("dim", !fits);
    }
    all.hidden = count <= most;
    shown.textContent = shown.dataset.words.replace("{shown}", Math.min(count, most)).replace("{all}", rows.length);
  };
  const showAll = () => { most = Infinity; find(); };
  field.addEventListener("input", find);
  all.addEventListener("click", showAll);
  if (rows.length > most) find();

  // Choosing: a row and its dot are lit together.
  const choose = rank => {
    document.querySelectorAll("tr.chosen").forEach(row => { row.classList.remove("chosen"); row.removeAttribute("aria-current"); });
    dots.forEach(dot => { if (dot.getAttribute("aria-pressed") === "true") dot.setAttribute("aria-pressed", "false"); });
    const row = rowOf.get(rank), dot = dotOf.get(rank);
    row.classList.add("chosen");
    row.setAttribute("aria-current", "true");
    dot.setAttribute("aria-pressed", "true");
    reach(dot);
    return row;
  };
  const goTo = rank => {
    const row = choose(rank);
    if (row.hidden) { field.value = ""; find(); }
    if (row.hidden) showAll();
    row.querySelector("summary").focus({ preventScroll: true });
    row.scrollIntoView({ block: "center" });
  };
  body.addEventListener("click", event => {
    const row = event.target.closest("tr");
    if (row) choose(row.dataset.rank);
  });

  body.addEventListener("toggle", event => event.target.closest("tr").classList.toggle("open", event.target.open), true);

  // The dots: one of them at a time can be reached by the tabulator, the arrow keys go on from there.
  let reached = dots[0];
  const reach = dot => { reached.tabIndex = -1; dot.tabIndex = 0; reached = dot; };
  const steps = { ArrowRight: 1, ArrowUp: 1, ArrowLeft: -1, ArrowDown: -1, Home: -Infinity, End: Infinity };
  const move = event => {
    const dot = event.target.closest(".dot");
    if (!dot) return;
    if (event.key === "Enter" || event.key === " ") { event.preventDefault(); goTo(dot.dataset.rank); return; }
    if (!(event.key in steps)) return;
    event.preventDefault();
    const seen = dots.filter(each => !each.classList.contains("dim") || each === dot);
    const next = seen[Math.min(Math.max(seen.indexOf(dot) + steps[event.key], 0), seen.length - 1)];
    reach(next);
    next.focus();
  };

  // The tip: the title of the dot that is pointed at or reached by the keyboard.
  const picture = document.getElementById("scatter"), tip = document.getElementById("tip");
  const [box, title, line] = tip.children;
  const show = event => {
    const dot = event.target.closest?.(".dot");
    if (!dot) return;
    title.textContent = dot.dataset.title.length > 70 ? dot.dataset.title.slice(0, 69) + "…" : dot.dataset.title;
    line.textContent = dot.dataset.line;
    const { width: wide, height: high } = picture.viewBox.baseVal;
    const width = Math.max(title.getComputedTextLength(), line.getComputedTextLength()) + 16;
    const x = Math.min(Math.max(dot.cx.baseVal.value - width / 2, 2), Math.max(wide - width - 2, 2));
    const y = dot.cy.baseVal.value > 60 ? dot.cy.baseVal.value - 54 : Math.min(dot.cy.baseVal.value + 12, high - 44);
    const at = (element, values) => Object.entries(values).forEach(([name, value]) => element.setAttribute(name, value));
    at(box, { x, y, width, height: 42 });
    at(title, { x: x + 8, y: y + 17 });
    at(line, { x: x + 8, y: y + 34 });
    tip.setAttribute("visibility", "visible");
  };
  const hide = () => tip.setAttribute("visibility", "hidden");
  picture.addEventListener("pointerover", show);
  picture.addEventListener("pointerout", hide);
  picture.addEventListener("focusin", show);
  picture.addEventListener("focusout", hide);
  picture.addEventListener("keydown", move);
  picture.addEventListener("click", event => { const dot = event.target.closest(".dot"); if (dot) goTo(dot.dataset.rank); });
})();
