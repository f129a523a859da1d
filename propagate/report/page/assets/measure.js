// Measuring between two points that snap to the lines in sight.

const measure = { points: [], hover: null };
const SNAP_PX = 26;
const CORNER_PX = 11;

function setMeasuring(on) {
  viewer.measuring = on;
  byId("measure").setAttribute("aria-pressed", String(on));
  byId("figures").classList.toggle("is-measuring", on);
  if (on && viewer.all) showAll(false);
  clearMeasure();
  if (on) {
    const box = viewer.box;
    measure.hover = snapped([box[0] + box[2] / 2, box[1] + box[3] / 2], Infinity);
    byId("measured").textContent = "Set two points; they snap to the lines.";
    drawMeasure();
  }
}

function clearMeasure() {
  measure.points = [];
  measure.hover = null;
  byId("measured").textContent = "";
  for (const over of all(".over")) over.replaceChildren();
}

const shown = (node) => node.getClientRects().length > 0;

// The nearest line in sight; near a corner or notch, the corner or notch itself.
function snapped(point, reachPx = SNAP_PX) {
  const svg = drawingOf(viewer.piece);
  const scale = mmPerPixel(svg, viewer.box);
  let best = null;
  for (const path of all("[data-snap]", svg).filter(shown)) {
    const line = lineOf(path);
    const [at, gap, along] = line.nearest(point);
    const ends = [[line.points[0], 0], [line.points[line.points.length - 1], line.length]];
    const weight = path.classList.contains("cut") ? 1.02 : 1;
    if (gap * weight < (best?.weighed ?? reachPx * scale)) {
      best = { at, along, path, weighed: gap * weight, name: path.dataset.snap };
      for (const [end, distance] of path.dataset.edge ? ends : []) {
        if (Math.hypot(end[0] - point[0], end[1] - point[1]) < CORNER_PX * scale) {
          Object.assign(best, { at: end, along: distance, name: `end of ${path.dataset.snap}` });
        }
      }
    }
  }
  for (const mark of all("[data-name]", svg).filter(shown)) {
    const at = mark.tagName === "path" ? pointsOf(mark.getAttribute("d"))[0]
      : [Number(mark.getAttribute("cx")), Number(mark.getAttribute("cy"))];
    if (best && Math.hypot(at[0] - point[0], at[1] - point[1]) < CORNER_PX * scale) {
      const [, gap, along] = lineOf(best.path).nearest(at);
      best = { ...best, at, along: gap < 0.05 ? along : null, name: mark.dataset.name };
    }
  }
  return best;
}

function hoverMeasure(svg, event) {
  if (svg !== drawingOf(viewer.piece)) return;
  measure.hover = snapped(toDrawing(svg, event.clientX, event.clientY));
  drawMeasure();
}

function addMeasure(point) {
  const found = snapped(point);
  if (!found) {
    byId("measured").textContent = "No line near that point.";
    return;
  }
  if (measure.points.length === 2) measure.points = [];
  measure.points.push(found);
  byId("measured").textContent = measuredWords();
  drawMeasure();
}

function measuredWords() {
  const [a, b] = measure.points;
  if (!b) return `From ${a.name}; set the second point.`;
  const straight = Math.hypot(b.at[0] - a.at[0], b.at[1] - a.at[1]);
  byId("measured").dataset.mm = straight.toFixed(3);
  let words = `${said(straight)} straight, from ${a.name} to ${b.name}`;
  if (a.path === b.path && a.along !== null && b.along !== null) {
    words += `; ${said(Math.abs(b.along - a.along))} along the line`;
  }
  return words;
}

function drawMeasure() {
  if (!viewer.piece) return;
  const svg = drawingOf(viewer.piece);
  const over = svg.querySelector(".over");
  over.replaceChildren();
  if (!viewer.measuring) return;
  const size = 7 * mmPerPixel(svg, viewer.box);
  const cross = ([x, y], kind) => over.append(drawn("path", {
    class: kind, d: `M${x - size} ${y}h${2 * size}M${x} ${y - size}v${2 * size}`,
  }));
  for (const point of measure.points) cross(point.at, "cross is-set");
  if (measure.hover) cross(measure.hover.at, "cross");
  const ends = [...measure.points];
  if (ends.length === 1 && measure.hover) ends.push(measure.hover);
  if (ends.length === 2) over.append(drawn("path", { class: "span", d: pathOf(ends.map((p) => p.at)) }));
}

const STEPS = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };

// The cross goes by the arrow keys, finely with Shift; Enter sets a point.
function measureKey(event) {
  if (event.key === "Escape") {
    setMeasuring(false);
    return true;
  }
  const box = viewer.box;
  measure.free ??= null;
  const start = measure.free ?? measure.hover?.at ?? [box[0] + box[2] / 2, box[1] + box[3] / 2];
  if (STEPS[event.key]) {
    const scale = mmPerPixel(drawingOf(viewer.piece), box) * (event.shiftKey ? 2 : 14);
    measure.free = start.map((v, i) => v + STEPS[event.key][i] * scale);
    measure.hover = snapped(measure.free, Infinity);
    byId("measured").textContent = `Cross on ${measure.hover?.name ?? "nothing"}.`;
    drawMeasure();
    return true;
  }
  if (event.key === "Enter" || event.key === " ") {
    addMeasure(measure.hover?.at ?? start);
    return true;
  }
  return false;
}

function setUpMeasure() {
  byId("measure").addEventListener("click", () => setMeasuring(!viewer.measuring));
}

