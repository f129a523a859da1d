// What the page knows, and lines with the distance along them.  Millimetres, y down.

const data = JSON.parse(document.getElementById("data").textContent);
const SVG = "http://www.w3.org/2000/svg";
const byId = (id) => document.getElementById(id);
const all = (selector, root = document) => [...root.querySelectorAll(selector)];
const clamp = (value, low, high) => Math.min(Math.max(value, low), high);
const calm = matchMedia("(prefers-reduced-motion: reduce)");

function element(name, attributes = {}, text = "") {
  const made = document.createElement(name);
  for (const [key, value] of Object.entries(attributes)) made.setAttribute(key, value);
  if (text) made.textContent = text;
  return made;
}

function drawn(name, attributes = {}) {
  const made = document.createElementNS(SVG, name);
  for (const [key, value] of Object.entries(attributes)) made.setAttribute(key, value);
  return made;
}

// A length in the page's unit; no sign for nothing.
function inUnit(mm, more = 0) {
  const text = (mm / data.mm).toFixed(data.decimals + more);
  return /^-[0.]*$/.test(text) ? text.slice(1) : text;
}
const said = (mm, more = 0) => `${inUnit(mm, more)} ${data.unit}`;

// Points of a path that the page wrote: moves and lines, relative, perhaps closed.
function pointsOf(d) {
  const points = [];
  let x = 0;
  let y = 0;
  const numbers = d.split(/[mlzM]/).join(" ").match(/-?\d*\.?\d+/g).map(Number);
  for (let i = 0; i + 1 < numbers.length; i += 2) {
    x += numbers[i];
    y += numbers[i + 1];
    points.push([x, y]);
  }
  if (d.endsWith("z")) points.push([...points[0]]);
  return points;
}

// A polyline whose length is the one that was measured, not that of its rounded points.
class Line {
  constructor(points, length = null) {
    this.points = points;
    this.arc = [0];
    for (let i = 1; i < points.length; i++) {
      const step = Math.hypot(points[i][0] - points[i - 1][0], points[i][1] - points[i - 1][1]);
      this.arc.push(this.arc[i - 1] + step);
    }
    const total = this.arc[this.arc.length - 1];
    this.length = length ?? total;
    if (total > 0) this.arc = this.arc.map((at) => (at * this.length) / total);
  }

  at(distance) {
    const { arc, points } = this;
    const wanted = clamp(distance, 0, this.length);
    let low = 1;
    let high = arc.length - 1;
    while (low < high) {
      const middle = (low + high) >> 1;
      if (arc[middle] < wanted) low = middle + 1;
      else high = middle;
    }
    const part = (wanted - arc[low - 1]) / (arc[low] - arc[low - 1] || 1);
    const [a, b] = [points[low - 1], points[low]];
    return [a[0] + (b[0] - a[0]) * part, a[1] + (b[1] - a[1]) * part];
  }

  // Direction in radians, over a few millimetres so that one short chord does not decide.
  direction(distance, reach = 2) {
    const a = this.at(Math.max(distance - reach, 0));
    const b = this.at(Math.min(distance + reach, this.length));
    return Math.atan2(b[1] - a[1], b[0] - a[0]);
  }

  // The part between two distances, in that order.
  between(a, b) {
    const [low, high] = [Math.min(a, b), Math.max(a, b)];
    const inner = this.points.filter((_, i) => this.arc[i] > low + 1e-6 && this.arc[i] < high - 1e-6);
    const part = [this.at(low), ...inner, this.at(high)];
    return new Line(a <= b ? part : part.reverse(), high - low);
  }

  // Nearest point: [point, distance from it, distance along].
  nearest(to) {
    let best = [this.points[0], Infinity, 0];
    for (let i = 1; i < this.points.length; i++) {
      const [a, b] = [this.points[i - 1], this.points[i]];
      const [dx, dy] = [b[0] - a[0], b[1] - a[1]];
      const square = dx * dx + dy * dy || 1;
      const t = clamp(((to[0] - a[0]) * dx + (to[1] - a[1]) * dy) / square, 0, 1);
      const point = [a[0] + dx * t, a[1] + dy * t];
      const gap = Math.hypot(to[0] - point[0], to[1] - point[1]);
      if (gap < best[1]) {
        best = [point, gap, this.arc[i - 1] + (this.arc[i] - this.arc[i - 1]) * t];
      }
    }
    return best;
  }
}

const lines = new WeakMap();
function lineOf(path) {
  if (!lines.has(path)) {
    const length = path.dataset.length ? Number(path.dataset.length) : null;
    lines.set(path, new Line(pointsOf(path.getAttribute("d")), length));
  }
  return lines.get(path);
}

const figureOf = (piece) => byId(piece);
function edgePath(piece, edge) {
  return figureOf(piece).querySelector(`.seam[data-edge="${edge}"]`);
}
const edgeLine = (piece, edge) => lineOf(edgePath(piece, edge));
const pathOf = (points) => `M${points.map((p) => `${p[0].toFixed(2)} ${p[1].toFixed(2)}`).join("L")}`;

