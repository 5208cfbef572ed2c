// The moving picture: drag to turn, choose speed, time and view; drawn far to near.
(() => {
  const source = document.getElementById("scene"), box = document.getElementById("viewer");
  if (!source || !box) return;
  const scene = JSON.parse(source.textContent), sets = scene.sets;
  const fixed = [];
  if (scene.body) fixed.push(...space.body(scene.body));
  if (scene.hook) fixed.push(...space.hook(scene.hook));
  for (const weight of scene.weights) fixed.push(...space.ball(weight));

  const make = (name, props = {}, ...inside) => {
    const item = Object.assign(document.createElement(name), props);
    item.append(...inside);
    return item;
  };
  const chooser = (name, options, chosen) => {
    const list = make("select", { ariaLabel: name });
    options.forEach((told, i) => list.append(make("option", { value: i, textContent: told })));
    list.value = chosen;
    return list;
  };
  const canvas = make("canvas", { tabIndex: 0 });
  canvas.setAttribute("role", "img");
  const pen = canvas.getContext("2d");
  const speed = chooser("scenario and speed", sets.map((s) => s.label), scene.first);
  const slow = [1, 4, 10, 30];
  const rate = chooser("time", slow.map((n) => n === 1 ? "true time" : `slowed ${n} times`), 1);
  const pause = make("button", { type: "button" });
  const views = [["3-D", 0.62, 0.34], ["Side", 0, 0], ["Top", 0, Math.PI / 2]];
  const buttons = views.map(([name, yaw, pitch]) => {
    const item = make("button", { type: "button", textContent: name });
    item.addEventListener("click", () => { state.yaw = yaw; state.pitch = pitch; draw(); });
    return item;
  });
  const told = make("span", { className: "legend" });
  const controls = make("div", { className: "controls" });
  if (sets.length) controls.append(speed, rate, pause);
  controls.append(...buttons, told);
  box.append(canvas, controls);

  const calm = window.matchMedia("(prefers-reduced-motion: reduce)");
  const dark = window.matchMedia("(prefers-color-scheme: dark)");
  const state = { yaw: views[0][1], pitch: views[0][2], time: 0, last: null, asked: false, paused: calm.matches };
  let frame = extent();
  let colours = palette();

  function extent() {
    const low = [Infinity, Infinity, Infinity], high = [-Infinity, -Infinity, -Infinity];
    const hold = (p) => p.forEach((x, i) => { low[i] = Math.min(low[i], x); high[i] = Math.max(high[i], x); });
    for (const face of fixed) face.at.forEach(hold);
    for (const part of sets.length ? sets[Number(speed.value)].parts : []) {
      for (const list of [part.frames, part.paddles]) for (const f of list) space.points(f).forEach(hold);
      for (const face of space.part(part, 0, !scene.body)) face.at.forEach(hold);
    }
    const middle = low.map((x, i) => (x + high[i]) / 2);
    const corners = [0, 1, 2, 3, 4, 5, 6, 7].map((k) => low.map((x, i) => (k >> i) & 1 ? high[i] : x));
    return { middle, corners };
  }
  function fitting(wide, tall) {
    const seen = frame.corners.map(turned);
    const reach = [0, 1].map((i) => Math.max(...seen.map((p) => Math.abs(p[i])), 1));
    return Math.min((wide / 2 - 16) / reach[0], (tall / 2 - 30) / reach[1]);
  }
  function palette() {
    const style = getComputedStyle(document.documentElement);
    const read = (name) => style.getPropertyValue(name).trim();
    const rgb = (hex) => [1, 3, 5].map((i) => parseInt(hex.slice(i, i + 2), 16));
    return {
      body: rgb(read("--body")), part: rgb(read("--part")), paddle: rgb(read("--part")),
      weight: rgb(read("--soft")), clamp: rgb(read("--soft")), hook: rgb(read("--hook")),
      ink: read("--ink"), soft: read("--soft"),
    };
  }

  // Turned about the upright axis, then tilted: right, up and toward the eye.
  function turned(p) {
    const [x, y, z] = [p[0] - frame.middle[0], p[1] - frame.middle[1], p[2] - frame.middle[2]];
    const c = Math.cos(state.yaw), s = Math.sin(state.yaw);
    const d = Math.cos(state.pitch), e = Math.sin(state.pitch);
    const right = c * x + s * y, away = -s * x + c * y;
    return [right, d * z + e * away, e * z - d * away];
  }
  const light = space.unit([-0.35, 0.75, 0.6]);

  function draw() {
    const ratio = Math.min(window.devicePixelRatio || 1, 2);
    const wide = canvas.clientWidth, tall = canvas.clientHeight;
    if (!wide) return;
    if (canvas.width !== Math.round(wide * ratio) || canvas.height !== Math.round(tall * ratio)) {
      canvas.width = Math.round(wide * ratio);
      canvas.height = Math.round(tall * ratio);
    }
    pen.setTransform(ratio, 0, 0, ratio, 0, 0);
    pen.clearRect(0, 0, wide, tall);
    const scale = fitting(wide, tall);
    const faces = fixed.slice(), set = sets[Number(speed.value)];
    if (set) for (const part of set.parts) faces.push(...space.part(part, state.time, !scene.body));
    const shown = faces.map((face) => {
      const at = face.at.map(turned);
      return { face, at, depth: at.reduce((sum, p) => sum + p[2], 0) / at.length };
    });
    shown.sort((a, b) => a.depth - b.depth);
    for (const item of shown) paint(item, scale, wide / 2, tall / 2);
    bar(scale, tall);
    if (set && set.stream) arrow(set.stream, wide, tall);
  }
  function paint({ face, at }, scale, x, y) {
    pen.beginPath();
    at.forEach((p, i) => pen[i ? "lineTo" : "moveTo"](x + scale * p[0], y - scale * p[1]));
    const base = colours[face.kind];
    if (face.wide) {
      pen.lineWidth = Math.max(1.5, scale * face.wide);
      pen.lineCap = "round";
      pen.strokeStyle = `rgb(${base.join(" ")})`;
      pen.stroke();
      return;
    }
    pen.closePath();
    const n = space.unit(space.cross(space.sub(at[1], at[0]), space.sub(at[2], at[0])));
    const lit = Math.abs(n[0] * light[0] + n[1] * light[1] + n[2] * light[2]);
    const tone = base.map((c) => Math.min(255, Math.round(c * (0.7 + 0.4 * lit))));
    pen.fillStyle = pen.strokeStyle = `rgb(${tone.join(" ")})`;
    pen.lineWidth = 0.7;
    pen.fill();
    pen.stroke();
  }
  function bar(scale, tall) {
    const long = (scene.inch ? 1270 : 1000) * scale;
    pen.strokeStyle = pen.fillStyle = colours.soft;
    pen.lineWidth = 3;
    pen.beginPath();
    pen.moveTo(14, tall - 16);
    pen.lineTo(14 + long, tall - 16);
    pen.stroke();
    pen.font = "12px system-ui, sans-serif";
    pen.fillText(scene.inch ? "0.5 inch" : "10 mm", 22 + long, tall - 12);
  }
  function arrow(stream, wide, tall) {
    const along = turned([0, 1, 2].map((i) => frame.middle[i] + stream[i]));
    const way = Math.hypot(along[0], along[1]);
    if (way < 0.2) return;
    const [dx, dy] = [34 * along[0] / way, -34 * along[1] / way], x = 60, y = 34;
    pen.strokeStyle = pen.fillStyle = colours.soft;
    pen.lineWidth = 2;
    pen.beginPath();
    pen.moveTo(x - dx, y - dy);
    pen.lineTo(x + dx, y + dy);
    pen.lineTo(x + dx - 0.25 * dx + 0.18 * dy, y + dy - 0.25 * dy - 0.18 * dx);
    pen.moveTo(x + dx, y + dy);
    pen.lineTo(x + dx - 0.25 * dx - 0.18 * dy, y + dy - 0.25 * dy + 0.18 * dx);
    pen.stroke();
    pen.fillText("water", 14, 18);
  }

  function name() {
    const set = sets[Number(speed.value)];
    pause.textContent = state.paused ? "Play" : "Pause";
    const beats = set ? set.parts.filter((p) => p.period > 0) : [];
    const rest = set && !beats.length ? "at rest" : "";
    told.textContent = beats.map((p) => `${p.name} ${(1 / p.period).toPrecision(2)} beats a second`)
      .slice(0, 2).join(", ") || rest;
    const what = set ? `${set.label}; ${told.textContent}` : "the lure as moulded";
    canvas.setAttribute("aria-label", `The lure in space: ${what}. Drag or use the arrow keys to turn it.`);
    canvas.dataset.paused = state.paused;
  }
  // one picture asked for at a time, and none drawn after a pause
  function ask() {
    if (!state.asked) window.requestAnimationFrame(tick);
    state.asked = true;
  }
  function tick(now) {
    state.asked = false;
    if (state.paused) return;
    const gone = state.last === null ? 0 : Math.min(now - state.last, 100) / 1000;
    state.last = now;
    state.time += gone / slow[Number(rate.value)];
    draw();
    ask();
  }
  function setPaused(paused) {
    state.paused = paused;
    state.last = null;
    name();
    if (!paused) ask();
  }

  let held = null;
  canvas.addEventListener("pointerdown", (event) => {
    held = [event.clientX, event.clientY];
    canvas.setPointerCapture(event.pointerId);
  });
  canvas.addEventListener("pointermove", (event) => {
    if (!held) return;
    turn(event.clientX - held[0], event.clientY - held[1]);
    held = [event.clientX, event.clientY];
  });
  for (const end of ["pointerup", "pointercancel"]) canvas.addEventListener(end, () => { held = null; });
  function turn(right, down) {
    state.yaw += 0.01 * right;
    state.pitch = Math.max(-Math.PI / 2, Math.min(Math.PI / 2, state.pitch + 0.01 * down));
    if (state.paused) draw();
  }
  const keys = { ArrowLeft: [-12, 0], ArrowRight: [12, 0], ArrowUp: [0, -12], ArrowDown: [0, 12] };
  canvas.addEventListener("keydown", (event) => {
    if (event.key === " " && sets.length) setPaused(!state.paused);
    else if (keys[event.key]) turn(...keys[event.key]);
    else return;
    event.preventDefault();
  });
  pause.addEventListener("click", () => setPaused(!state.paused));
  speed.addEventListener("change", () => { frame = extent(); name(); draw(); });
  calm.addEventListener("change", () => setPaused(calm.matches));
  dark.addEventListener("change", () => { colours = palette(); draw(); });
  window.addEventListener("resize", draw);

  document.getElementById("still").hidden = true;
  box.hidden = false;
  if (!sets.some((set) => set.parts.some((part) => part.period > 0))) {
    state.paused = true;
    pause.hidden = rate.hidden = true;
  }
  name();
  draw();
  if (!state.paused) ask();
})();
