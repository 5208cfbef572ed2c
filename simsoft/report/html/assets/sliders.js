// Sliders over designs solved beforehand: every place is a design, nothing is interpolated.
(() => {
  const source = document.getElementById("designs"), form = document.getElementById("sliders-live");
  if (!source || !form) return;
  const known = JSON.parse(source.textContent);
  const inputs = known.axes.map((_, i) => document.getElementById(`slider-${i}`));
  const shown = document.getElementById("slid");
  const short = (x, digits = 2) => x === null ? "-" : String(Number(x.toPrecision(digits)));
  const cell = (name, told) => Object.assign(document.createElement(name), { textContent: told });
  const row = (name, cells) => {
    const line = document.createElement("tr");
    line.append(...cells.map((told) => cell(name, told)));
    return line;
  };

  function design() {
    const at = inputs.reduce((sum, input, i) => sum * known.axes[i].told.length + Number(input.value), 0);
    const [start, why, ...flat] = known.designs[at];
    const answers = known.speeds.map((speed, i) => {
      const [word, rate, stroke, fold] = flat.slice(4 * i, 4 * i + 4);
      return { speed, word: word === null ? null : known.words[word], rate, stroke, fold };
    });
    return { start, why: why === null ? "" : known.reasons[why], open: why !== null && known.open[why], answers };
  }
  const columns = { flap_frequency: "rate", stroke: "stroke", fold_back: "fold", verdict: "word" };
  // of what has no column (the width from edge to edge) screening tells nothing;
  // a start that screening finds nowhere is an answer; what only a march tells is none
  function judged(wish, found) {
    const inside = (x) => x !== null && (wish.least === null || x >= wish.least)
      && (wish.most === null || x <= wish.most) && (wish.equals === null || x === wish.equals);
    if (wish.quantity === "start_speed") return found.open ? "does not tell" : inside(found.start) ? "meets" : "misses";
    const asked = found.answers.filter((a) => wish.speed === null || a.speed === wish.speed)
      .map((a) => a[columns[wish.quantity]] ?? null);
    if (asked.some((x) => x === null || x === known.beats)) return "does not tell";
    return asked.every(inside) ? "meets" : "misses";
  }
  function show() {
    const found = design(), { factor, unit } = known.length, pace = known.pace;
    inputs.forEach((input, i) => {
      const told = known.axes[i].told[Number(input.value)];
      input.nextElementSibling.textContent = told;
      input.setAttribute("aria-valuetext", told);
    });
    const start = found.start === null ? `no start told: ${found.why}` : `starts at ${short(pace.factor * found.start, 3)} ${pace.unit}`;
    const table = document.createElement("table");
    const head = document.createElement("thead"), rows = document.createElement("tbody");
    head.append(row("th", [`speed [${pace.unit}]`, "what it does", "rate [Hz]", `stroke [${unit}]`, "fold-back [deg]"]));
    for (const a of found.answers)
      rows.append(row("td", [short(pace.factor * a.speed, 4), a.word ?? "not told", short(a.rate),
        short(a.stroke === null ? null : factor * a.stroke), short(a.fold)]));
    table.append(head, rows);
    const wishes = known.wishes.map((wish) =>
      cell("p", `${judged(wish, found)} ${wish.name.replaceAll("_", " ")}`));
    const lead = cell("p", `Screening: ${start}`);
    lead.className = "lead";
    shown.replaceChildren(lead, table, ...wishes);
  }
  inputs.forEach((input) => input.addEventListener("input", show));
  document.getElementById("slid-back").addEventListener("click", () => {
    inputs.forEach((input, i) => { input.value = known.axes[i].own; });
    show();
  });
  document.getElementById("sliders-off").hidden = true;
  form.hidden = false;
  show();
})();
