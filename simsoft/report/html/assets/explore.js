// Knobs that ask the solver behind the page: one question at a time, the latest setting last.
(() => {
  const known = JSON.parse(document.getElementById("explore").textContent);
  const inputs = known.knobs.map((_, i) => document.getElementById(`knob-${i}`));
  const told = document.getElementById("told"), badge = document.getElementById("verdict");
  const headers = { "X-Simsoft-Token": known.token, "Content-Type": "application/json" };
  const classes = { "go": "go", "meets": "go", "marginal": "marginal", "no-go": "no-go", "misses": "no-go", "marginal so far": "marginal" };
  let busy = false, wanted = null;

  const cell = (name, text, class_) => Object.assign(document.createElement(name), { textContent: text, className: class_ || "" });
  const row = (name, cells) => {
    const line = document.createElement("tr");
    line.append(...cells.map((text) => text instanceof Node ? text : cell(name, text)));
    return line;
  };
  const table = (head, rows) => {
    const all = document.createElement("table"), box = cell("div", "", "wide broken");
    const top = document.createElement("thead"), body = document.createElement("tbody");
    top.append(row("th", head));
    body.append(...rows.map((cells) => row("td", cells)));
    all.append(top, body);
    box.append(all);
    return box;
  };
  function briefTable(head, rows) {
    const all = Object.assign(document.createElement("table"), { className: "brief" });
    const top = document.createElement("thead"), body = document.createElement("tbody");
    top.append(row("th", head));
    for (const cells of rows) {
      const line = row("td", cells);
      [...line.children].forEach((item, i) => { item.dataset.label = head[i]; });
      body.append(line);
    }
    all.append(top, body);
    return all;
  }
  const places = (step) => Math.max(0, Math.min(6, Math.ceil(-Math.log10(step) - 1e-9)));
  const value = (i) => Number(Number(inputs[i].value).toFixed(places(known.knobs[i].step) + 1));
  const values = () => Object.fromEntries(known.knobs.map((knob, i) => [knob.path, value(i)]));

  function show(found, how) {
    const parts = [cell("p", { screen: "screened", march: "marched", bands: "marched, with bands" }[how], "legend")];
    for (const group of found.groups) {
      parts.push(cell("p", `${group.name}: ${group.lead}`, "lead"), table(group.head, group.rows));
    }
    parts.push(...found.whole.map((line) => cell("p", line)));
    if (found.brief.length) {
      parts.push(briefTable(["wanted", "found", "margin", "verdict"], found.brief.map((f) => {
        const box = document.createElement("td");
        box.append(cell("span", f.verdict, `badge ${classes[f.verdict] || "open"}`), ` ${f.why}`);
        return [`${f.name} ${f.wanted}`, f.found, f.margin, box];
      })));
    }
    parts.push(...found.warnings.map((line) => cell("p", `Warning: ${line}`, "warning")));
    told.replaceChildren(...parts);
    badge.textContent = found.verdict;
    badge.className = `badge ${classes[found.verdict] || "open"}`;
  }
  const fail = (text) => told.replaceChildren(cell("p", text, "warning"));

  async function ask(path, body) {
    const reply = await fetch(path, { method: "POST", headers, body: JSON.stringify(body) });
    const found = await reply.json();
    if (!reply.ok) throw new Error((found.problems || ["no answer"]).join("; "));
    return found;
  }
  async function send(how) {
    wanted = how;
    if (busy) return;
    busy = true;
    told.setAttribute("aria-busy", "true");
    while (wanted) {
      const now = wanted;
      wanted = null;
      try {
        show(await ask("/solve", { how: now, values: values() }), now);
      } catch (error) {
        fail(String(error.message || error));
      }
    }
    told.removeAttribute("aria-busy");
    busy = false;
  }
  function turned(i) {
    inputs[i].nextElementSibling.textContent = `${value(i)} ${known.knobs[i].unit}`;
    inputs[i].setAttribute("aria-valuetext", inputs[i].nextElementSibling.textContent);
    send("screen");
  }
  inputs.forEach((input, i) => input.addEventListener("input", () => turned(i)));
  document.getElementById("march").addEventListener("click", () => send("march"));
  document.getElementById("bands").addEventListener("click", () => send("bands"));
  document.getElementById("back").addEventListener("click", () => {
    inputs.forEach((input, i) => { input.value = known.knobs[i].value; });
    inputs.forEach((_, i) => turned(i));
  });
  document.getElementById("keep").addEventListener("click", async () => {
    try {
      const found = await ask("/keep", { values: values() });
      told.prepend(cell("p", `kept as ${found.file}`, "lead"));
    } catch (error) {
      fail(String(error.message || error));
    }
  });
  setInterval(() => fetch("/alive", { method: "POST", headers, body: "{}" }).catch(() => fail("The command that serves this page has ended.")), 5000);
  addEventListener("pagehide", () => fetch("/bye", { method: "POST", headers, body: "{}", keepalive: true }).catch(() => {}));
  send("screen");
})();
