"use strict";
// Solids of the scene as faces; places in hundredths of a millimetre, x to the tail, z up.
const space = (() => {
  const sub = (a, b) => [a[0] - b[0], a[1] - b[1], a[2] - b[2]];
  const add = (a, b, s = 1) => [a[0] + s * b[0], a[1] + s * b[1], a[2] + s * b[2]];
  const cross = (a, b) => [
    a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]];
  const size = (a) => Math.hypot(a[0], a[1], a[2]);
  const unit = (a) => { const n = size(a) || 1; return [a[0] / n, a[1] / n, a[2] / n]; };
  const points = (flat) => {
    const list = [];
    for (let i = 0; i < flat.length; i += 3) list.push([flat[i], flat[i + 1], flat[i + 2]]);
    return list;
  };

  // Rings of equally many points -> quadrilaterals between them.
  function between(rings, kind, closed = true) {
    const faces = [];
    for (let i = 0; i + 1 < rings.length; i++) {
      const a = rings[i], b = rings[i + 1], n = a.length;
      for (let j = 0; j < (closed ? n : n - 1); j++) {
        const k = (j + 1) % n;
        faces.push({ at: [a[j], a[k], b[k], b[j]], kind });
      }
    }
    return faces;
  }

  function body(data) {
    const rings = data.x.map((x, i) => {
      const h = data.height[i] / 2, w = data.width[i] / 2, ring = [];
      for (let j = 0; j < 20; j++) {
        const turn = 2 * Math.PI * j / 20, c = Math.cos(turn), s = Math.sin(turn);
        const r = data.box ? 1 / Math.max(Math.abs(c), Math.abs(s)) : 1;
        ring.push([x, w * r * c, h * r * s]);
      }
      return ring;
    });
    const ends = [rings[0], rings[rings.length - 1]].map((at) => ({ at, kind: "body" }));
    return between(rings, "body").concat(ends);
  }

  function ball(weight) {
    const rings = [];
    for (let i = 0; i <= 8; i++) {
      const up = Math.PI * i / 8, ring = [];
      for (let j = 0; j < 12; j++) {
        const turn = 2 * Math.PI * j / 12, r = weight.radius;
        ring.push(add(weight.at, [r * Math.cos(up), r * Math.sin(up) * Math.cos(turn),
          r * Math.sin(up) * Math.sin(turn)]));
      }
      rings.push(ring);
    }
    return between(rings, "weight");
  }

  function hook(data) {
    const path = points(data.path), wires = [];
    for (let i = 0; i + 1 < path.length; i++) {
      const step = sub(path[i + 1], path[i]), count = Math.max(1, Math.ceil(size(step) / 120));
      for (let k = 0; k < count; k++)
        wires.push({ at: [add(path[i], step, k / count), add(path[i], step, (k + 1) / count)],
          kind: "hook", wide: data.wire[0] });
    }
    return wires;
  }

  // A strip between its edges, as thick as it is at every node.
  function strip(edges, thick, kind) {
    const rings = [], n = edges.length / 2;
    let side = null;
    for (let i = 0; i < n; i++) {
      const a = edges[2 * i], b = edges[2 * i + 1];
      const middle = (k) => add(edges[2 * k], sub(edges[2 * k + 1], edges[2 * k]), 0.5);
      const along = sub(middle(Math.min(i + 1, n - 1)), middle(Math.max(i - 1, 0)));
      const across = sub(b, a);
      let normal = cross(across, along);
      normal = size(normal) > 1e-6 ? unit(normal) : side || [0, 0, 1];
      side = normal;
      const half = (thick[i] || 0) / 2;
      rings.push([add(a, normal, half), add(b, normal, half), add(b, normal, -half),
        add(a, normal, -half)]);
    }
    const ends = [rings[0], rings[rings.length - 1]].map((at) => ({ at, kind }));
    return between(rings, kind).concat(ends);
  }

  // A plate between its outline on both faces.
  function plate(rim, thick, kind) {
    const n = rim.length;
    if (n < 3) return [];
    let middle = [0, 0, 0], normal = [0, 0, 0];
    for (const p of rim) middle = add(middle, p, 1 / n);
    for (let i = 0; i < n; i++)
      normal = add(normal, cross(sub(rim[i], middle), sub(rim[(i + 1) % n], middle)));
    normal = unit(normal);
    const front = rim.map((p) => add(p, normal, thick / 2));
    const back = rim.map((p) => add(p, normal, -thick / 2));
    return between([front, back], kind).concat([{ at: front, kind }, { at: back, kind }]);
  }

  // The block that holds a part where the case has no body.
  function clamp(edges, thick) {
    const a = edges[0], b = edges[1], across = sub(b, a);
    const root = add(a, across, 0.5);
    let along = [0, 0, 0];
    for (let i = 2; i + 1 < edges.length && size(along) < 1; i += 2)
      along = sub(add(edges[i], sub(edges[i + 1], edges[i]), 0.5), root);
    along = unit(along);
    const wide = size(across), deep = Math.max(thick || 0, 0.3 * wide);
    const normal = unit(cross(across, along)), side = unit(across), rings = [];
    for (const s of [0, -1.2 * wide]) {
      const centre = add(root, along, s);
      rings.push([[1, 1], [1, -1], [-1, -1], [-1, 1]].map(([p, q]) =>
        add(add(centre, side, 0.62 * wide * p), normal, 0.75 * deep * q)));
    }
    const ends = rings.map((at) => ({ at, kind: "clamp" }));
    return between(rings, "clamp").concat(ends);
  }

  // A closed beat between its frames: a smooth curve through every one (Catmull and Rom).
  function frame(frames, share) {
    const n = frames.length;
    if (n === 1) return frames[0];
    const place = (share - Math.floor(share)) * n, i = Math.floor(place) % n, t = place - Math.floor(place);
    const [a, b, c, d] = [n - 1, 0, 1, 2].map((k) => frames[(i + k) % n]);
    const [t2, t3] = [t * t, t * t * t];
    return b.map((y, k) => y + 0.5 * (t * (c[k] - a[k]) + t2 * (2 * a[k] - 5 * y + 4 * c[k] - d[k])
      + t3 * (3 * y - a[k] - 3 * c[k] + d[k])));
  }

  function part(data, time, held) {
    const share = data.period > 0 ? time / data.period : 0;
    const edges = points(frame(data.frames, share)), rim = points(frame(data.paddles, share));
    const faces = strip(edges, data.thick, "part");
    const solid = faces.concat(plate(rim, data.plate || 60, "paddle"));
    return held ? solid.concat(clamp(edges, data.thick[0])) : solid;
  }

  return { body, ball, hook, part, points, cross, sub, unit };
})();
