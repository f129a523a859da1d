// Texts on the drawings: each where there is room at this scale, the longest edges first.

const FRACTIONS = [0.5, 0.38, 0.62, 0.26, 0.74, 0.14, 0.86];
const LETTER_PX = 12;
const OUTLINES = ".seam, .before, .cut, .cut-before, .inner, .dart, .fold, .grain, .notch, .drill";

function boxAt(middle, angle, wide, tall) {
  const [c, s] = [Math.cos(angle), Math.sin(angle)];
  return [[-1, -1], [1, -1], [1, 1], [-1, 1]].map(([i, j]) => [
    middle[0] + (i * wide * c) / 2 - (j * tall * s) / 2,
    middle[1] + (i * wide * s) / 2 + (j * tall * c) / 2,
  ]);
}

// Two boxes, or a box and a piece of a line, are apart when some side has all of the other beyond it.
function overlap(one, other) {
  for (const shape of [one, other]) {
    for (let i = 0; i < Math.min(shape.length, 2); i++) {
      const [a, b] = [shape[i], shape[(i + 1) % shape.length]];
      const axis = shape.length === 2 && i === 1 ? [a[1] - b[1], b[0] - a[0]] : [b[0] - a[0], b[1] - a[1]];
      const spread = [one, other].map((s) => s.map((p) => p[0] * axis[0] + p[1] * axis[1]));
      const [x, y] = spread.map((v) => [Math.min(...v), Math.max(...v)]);
      if (x[1] < y[0] || y[1] < x[0]) return false;
    }
  }
  return true;
}

function inside(point, ring) {
  let found = false;
  for (let i = 1; i < ring.length; i++) {
    const [a, b] = [ring[i - 1], ring[i]];
    if (a[1] > point[1] !== b[1] > point[1]) {
      const x = a[0] + ((point[1] - a[1]) / (b[1] - a[1])) * (b[0] - a[0]);
      if (point[0] < x) found = !found;
    }
  }
  return found;
}

// Every piece of a line of a drawing; read once.
const drawnParts = new Map();
function partsOf(figure) {
  if (!drawnParts.has(figure.id)) {
    const parts = [];
    for (const path of all(OUTLINES, figure)) {
      if (path.tagName !== "path") continue;
      const points = pointsOf(path.getAttribute("d"));
      for (let i = 1; i < points.length; i++) parts.push([points[i - 1], points[i]]);
    }
    for (const dot of all("circle", figure)) {
      const [x, y, r] = ["cx", "cy", "r"].map((key) => Number(dot.getAttribute(key)));
      parts.push([[x - r, y], [x + r, y]], [[x, y - r], [x, y + r]]);
    }
    drawnParts.set(figure.id, parts);
  }
  return drawnParts.get(figure.id);
}

function crosses(box, parts) {
  const [xs, ys] = [0, 1].map((i) => box.map((p) => p[i]));
  const [left, right, top, low] = [Math.min(...xs), Math.max(...xs), Math.min(...ys), Math.max(...ys)];
  return parts.some(([a, b]) =>
    !(a[0] < left && b[0] < left) && !(a[0] > right && b[0] > right) &&
    !(a[1] < top && b[1] < top) && !(a[1] > low && b[1] > low) && overlap(box, [a, b]));
}

const upright = (angle) => {
  const turned = ((angle + Math.PI / 2) % Math.PI + Math.PI) % Math.PI - Math.PI / 2;
  return turned <= -Math.PI / 2 + 1e-9 ? Math.PI / 2 : turned;
};

// Beside a line, inside (side 1: to the left of a counter-clockwise outline) or outside.
function beside(line, at, wide, tall, gap, side) {
  const reach = Math.min(wide, line.length) / 2;
  const middle = clamp(at, reach, line.length - reach);
  const ends = [line.at(middle - reach), line.at(middle), line.at(middle + reach)];
  const angle = Math.atan2(ends[2][1] - ends[0][1], ends[2][0] - ends[0][0]);
  const away = [Math.sin(angle) * side, -Math.cos(angle) * side];
  const base = Math.max(...ends.map((p) => (p[0] - ends[1][0]) * away[0] + (p[1] - ends[1][1]) * away[1]));
  const off = base + gap + tall / 2;
  return { middle: [ends[1][0] + away[0] * off, ends[1][1] + away[1] * off], angle: upright(angle) };
}

function setText(text, place, letter) {
  text.style.display = place ? "" : "none";
  if (!place) return;
  const degrees = (place.angle * 180) / Math.PI;
  const [x, y] = place.middle.map((v) => v.toFixed(2));
  text.setAttribute("transform", `translate(${x} ${y})rotate(${degrees.toFixed(1)})`);
  text.setAttribute("y", (letter * 0.36).toFixed(2));
}

// Place the texts of one drawing; `letter` is their size in mm, `view` the part in sight.
function placeTexts(figure, letter, view) {
  const ring = pointsOf(figure.querySelector(".face").getAttribute("d"));
  const taken = [];
  const tall = letter * 1.15;
  const near = partsOf(figure).filter(([a, b]) =>
    Math.max(a[0], b[0]) > view[0] && Math.min(a[0], b[0]) < view[0] + view[2] &&
    Math.max(a[1], b[1]) > view[1] && Math.min(a[1], b[1]) < view[1] + view[3]);
  const free = (box, side) =>
    box.every((p) => p[0] > view[0] && p[0] < view[0] + view[2] && p[1] > view[1] && p[1] < view[1] + view[3]) &&
    inside(box[0], ring) === side > 0 && !taken.some((other) => overlap(box, other)) && !crosses(box, near);
  const texts = all(".label", figure).map((text) => ({ text, line: edgeLine(figure.id, text.dataset.edge) }));
  texts.sort((a, b) => b.line.length - a.line.length);
  for (const { text, line } of texts) {
    const wide = letter * (0.58 * [...text.textContent].length + 0.6);
    setText(text, roomFor(line, wide, tall, letter, free, taken), letter);
  }
}

function roomFor(line, wide, tall, letter, free, taken) {
  for (const [side, gap] of [[1, 0.4], [1, 1.5], [1, 2.8], [-1, 0.4], [-1, 1.6], [-1, 3]]) {
    for (const part of FRACTIONS) {
      const place = beside(line, line.length * part, wide, tall, gap * letter, side);
      const box = boxAt(place.middle, place.angle, wide, tall);
      if (free(box, side)) {
        taken.push(box);
        return place;
      }
    }
  }
  return null;
}

function setUpLayers() {
  const boxes = all("[data-role]");
  const apply = () => {
    byId("figures").dataset.off = boxes.filter((box) => !box.checked).map((box) => box.dataset.role).join(" ");
  };
  for (const box of boxes) box.addEventListener("change", apply);
  apply();
}

