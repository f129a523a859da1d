// Texts on the drawings: each where there is room at this scale, the longest edges first.

const FRACTIONS = [0.5, 0.38, 0.62, 0.26, 0.74, 0.14, 0.86];
const LETTER_PX = 12;

function boxAt(middle, angle, wide, tall) {
  const [c, s] = [Math.cos(angle), Math.sin(angle)];
  return [[-1, -1], [1, -1], [1, 1], [-1, 1]].map(([i, j]) => [
    middle[0] + (i * wide * c) / 2 - (j * tall * s) / 2,
    middle[1] + (i * wide * s) / 2 + (j * tall * c) / 2,
  ]);
}

// Two boxes are apart when some side of one has all of the other beyond it.
function overlap(one, other) {
  for (const box of [one, other]) {
    for (let i = 0; i < 2; i++) {
      const axis = [box[i + 1][0] - box[i][0], box[i + 1][1] - box[i][1]];
      const spread = [one, other].map((b) => b.map((p) => p[0] * axis[0] + p[1] * axis[1]));
      const [a, b] = spread.map((v) => [Math.min(...v), Math.max(...v)]);
      if (a[1] < b[0] || b[1] < a[0]) return false;
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

// Hatching keeps its pitch on the screen.
function setHatching(scale) {
  for (const pattern of all(".patterns pattern")) {
    pattern.setAttribute("patternTransform", `rotate(45)scale(${scale.toFixed(4)})`);
  }
}

// Place the texts of one drawing; `letter` is their size in mm, `view` the part in sight.
function placeTexts(figure, letter, view) {
  const ring = pointsOf(figure.querySelector(".paper").getAttribute("d"));
  const taken = [];
  const tall = letter * 1.15;
  const free = (box, side) =>
    box.every((p) => p[0] > view[0] && p[0] < view[0] + view[2] && p[1] > view[1] && p[1] < view[1] + view[3]) &&
    box.every((p) => inside(p, ring) === side > 0) && !taken.some((other) => overlap(box, other));
  for (const mark of all(".notch, .mark", figure)) {
    const [x, y] = mark.tagName === "path" ? pointsOf(mark.getAttribute("d").split("L")[0])[0]
      : [Number(mark.getAttribute("cx")), Number(mark.getAttribute("cy"))];
    taken.push(boxAt([x, y], 0, letter * 0.5, letter * 0.5));
  }
  const [start, end] = pointsOf(figure.querySelector(".grain").getAttribute("d").split("M")[1]);
  const size = Math.hypot(end[0] - start[0], end[1] - start[1]);
  const angle = Math.atan2(end[1] - start[1], end[0] - start[0]);
  taken.push(boxAt([(start[0] + end[0]) / 2, (start[1] + end[1]) / 2], angle, size, letter * 0.4));
  const texts = all(".dim", figure).map((text) => ({ text, line: edgeLine(figure.id, text.dataset.edge) }));
  texts.sort((a, b) => b.line.length - a.line.length);
  for (const { text, line } of texts) {
    const wide = letter * (0.56 * [...text.textContent].length + 0.6);
    setText(text, roomFor(line, wide, tall, letter, free, taken), letter);
  }
}

function roomFor(line, wide, tall, letter, free, taken) {
  for (const [side, gap] of [[1, 0.45], [1, 1.5], [-1, 0.45], [-1, 1.6]]) {
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
  const figures = byId("figures");
  const boxes = all("[data-layer]");
  const apply = () => {
    figures.dataset.layers = boxes.filter((box) => box.checked).map((box) => box.dataset.layer).join(" ");
  };
  for (const box of boxes) box.addEventListener("change", apply);
  apply();
}

