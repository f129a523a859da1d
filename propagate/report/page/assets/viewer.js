// One piece large, or all at one scale; zoom and move.

const viewer = { piece: null, all: false, box: null, measuring: false };
const drawingOf = (piece) => byId(`${piece}-drawing`);
const homeBox = (piece) => data.pieces[piece].box;

// Millimetres of one pixel of a drawing as it stands on the screen.
function mmPerPixel(svg, box) {
  const place = svg.getBoundingClientRect();
  if (!place.width || !place.height) return 0;
  return Math.max(box[2] / place.width, box[3] / place.height);
}

function inSight(svg, box) {
  const scale = mmPerPixel(svg, box);
  const place = svg.getBoundingClientRect();
  const [wide, tall] = [place.width * scale, place.height * scale];
  return [box[0] + box[2] / 2 - wide / 2, box[1] + box[3] / 2 - tall / 2, wide, tall];
}

// Hatching keeps its pitch on the screen.
function setHatching(svg, scale) {
  for (const pattern of all("pattern", svg)) {
    pattern.setAttribute("patternTransform", `rotate(45)scale(${scale.toFixed(4)})`);
  }
}

function refresh(piece, box = homeBox(piece)) {
  const svg = drawingOf(piece);
  svg.setAttribute("viewBox", box.map((v) => v.toFixed(2)).join(" "));
  const scale = mmPerPixel(svg, box);
  if (!scale) return;
  const letter = LETTER_PX * scale;
  setHatching(svg, scale);
  svg.style.fontSize = `${letter.toFixed(3)}px`;
  placeTexts(figureOf(piece), letter, inSight(svg, box));
  if (viewer.piece === piece) drawMeasure();
}

function setBox(box) {
  const home = homeBox(viewer.piece);
  const wide = clamp(box[2], home[2] / 400, home[2] * 2);
  const ratio = wide / box[2];
  viewer.box = [
    box[0] + (box[2] - wide) / 2, box[1] + (box[3] * (1 - ratio)) / 2, wide, box[3] * ratio,
  ];
  figureOf(viewer.piece).classList.toggle("is-zoomed", wide < home[2] * 0.999);
  refresh(viewer.piece, viewer.box);
}

function zoom(factor, about = null) {
  const box = viewer.box;
  const [x, y] = about ?? [box[0] + box[2] / 2, box[1] + box[3] / 2];
  setBox([x - (x - box[0]) * factor, y - (y - box[1]) * factor, box[2] * factor, box[3] * factor]);
}

function move(dx, dy) {
  const scale = mmPerPixel(drawingOf(viewer.piece), viewer.box);
  const box = viewer.box;
  setBox([box[0] + dx * scale, box[1] + dy * scale, box[2], box[3]]);
}

const fit = () => setBox([...homeBox(viewer.piece)]);

function toDrawing(svg, x, y) {
  const point = new DOMPoint(x, y).matrixTransform(svg.getScreenCTM().inverse());
  return [point.x, point.y];
}

function showPiece(piece) {
  if (viewer.piece && viewer.piece !== piece) {
    clearMeasure();
    refresh(viewer.piece);
    figureOf(viewer.piece).classList.remove("is-zoomed");
  }
  viewer.piece = piece;
  byId("piece-choice").value = piece;
  for (const figure of all("#figures > .piece")) figure.classList.toggle("is-shown", figure.id === piece);
  placeDetail();
  fit();
}

// On a wide screen the table of the piece stands below the graph, beside the drawing.
const wideScreen = matchMedia("screen and (min-width: 72rem)");
function placeDetail() {
  const place = byId("detail");
  for (const moved of [...place.children]) byId(moved.dataset.of).append(moved);
  if (!wideScreen.matches || viewer.all) return;
  const beside = figureOf(viewer.piece).querySelector(".beside");
  beside.dataset.of = viewer.piece;
  place.append(beside);
}

function showAll(wanted) {
  viewer.all = wanted;
  byId("show-one").setAttribute("aria-pressed", String(!wanted));
  byId("show-all").setAttribute("aria-pressed", String(wanted));
  byId("figures").classList.toggle("is-all", wanted);
  byId("bench").classList.toggle("is-all", wanted);
  placeDetail();
  if (wanted) scaleAll();
  else fit();
}

// All drawings at one scale: that at which the largest fits.
function scaleAll() {
  const pieces = Object.keys(data.pieces).filter((piece) => !figureOf(piece).classList.contains("is-out"));
  const wide = byId("figures").clientWidth - 4;
  const [w, t] = [2, 3].map((i) => Math.max(...pieces.map((p) => homeBox(p)[i])));
  const scale = Math.min(wide / w, (innerHeight * 0.75) / t);
  for (const piece of pieces) {
    const svg = drawingOf(piece);
    svg.style.setProperty("--wide", `${(homeBox(piece)[2] * scale).toFixed(1)}px`);
    svg.style.setProperty("--tall", `${(homeBox(piece)[3] * scale).toFixed(1)}px`);
    refresh(piece);
  }
}

const KEYS = {
  ArrowLeft: () => move(-40, 0), ArrowRight: () => move(40, 0),
  ArrowUp: () => move(0, -40), ArrowDown: () => move(0, 40),
  "+": () => zoom(0.8), "=": () => zoom(0.8), "-": () => zoom(1.25), 0: () => fit(),
  m: () => setMeasuring(!viewer.measuring), M: () => setMeasuring(!viewer.measuring),
};

function onKey(event) {
  if (event.ctrlKey || event.metaKey || event.altKey) return;
  if (viewer.measuring && measureKey(event)) {
    event.preventDefault();
  } else if (KEYS[event.key]) {
    event.preventDefault();
    KEYS[event.key]();
  }
}

function setUpPointers(svg) {
  const pointers = new Map();
  let moved = 0;
  svg.addEventListener("pointerdown", (event) => {
    pointers.set(event.pointerId, [event.clientX, event.clientY]);
    if (pointers.size === 1) moved = 0;
  });
  svg.addEventListener("pointermove", (event) => {
    const before = pointers.get(event.pointerId);
    if (!before) {
      if (viewer.measuring) hoverMeasure(svg, event);
      return;
    }
    const step = [event.clientX - before[0], event.clientY - before[1]];
    moved += Math.hypot(...step);
    if (moved > 4 && !svg.hasPointerCapture(event.pointerId)) svg.setPointerCapture(event.pointerId);
    if (pointers.size === 2) {
      const other = [...pointers].find(([id]) => id !== event.pointerId)[1];
      const [was, is] = [before, [event.clientX, event.clientY]]
        .map((p) => Math.hypot(p[0] - other[0], p[1] - other[1]));
      zoom(was / Math.max(is, 1), toDrawing(svg, ...other));
    } else if (moved > 4 && (event.pointerType !== "touch" || viewer.box[2] < homeBox(viewer.piece)[2])) {
      move(-step[0], -step[1]);
    }
    pointers.set(event.pointerId, [event.clientX, event.clientY]);
  });
  const end = (event) => pointers.delete(event.pointerId);
  svg.addEventListener("pointercancel", end);
  svg.addEventListener("pointerup", (event) => {
    const known = pointers.has(event.pointerId);
    end(event);
    if (!known || moved > 4) return;
    if (viewer.measuring) addMeasure(toDrawing(svg, event.clientX, event.clientY));
    else pickEdge(svg, event);
  });
}

// The nearest edge within a finger's width is chosen.
function pickEdge(svg, event) {
  const point = toDrawing(svg, event.clientX, event.clientY);
  const near = all(".seam[data-edge]", svg)
    .map((path) => [lineOf(path).nearest(point)[1], path.dataset.edge])
    .sort((a, b) => a[0] - b[0])[0];
  if (near && near[0] < 14 * mmPerPixel(svg, viewer.box)) chooseEdge(viewer.piece, near[1]);
}

function setUpViewer() {
  for (const svg of all(".drawing")) {
    svg.setAttribute("tabindex", "0");
    svg.addEventListener("keydown", onKey);
    svg.addEventListener("wheel", (event) => {
      if (!event.ctrlKey && document.activeElement !== svg) return;
      if (viewer.all) return;
      event.preventDefault();
      zoom(event.deltaY > 0 ? 1.15 : 1 / 1.15, toDrawing(svg, event.clientX, event.clientY));
    }, { passive: false });
    svg.addEventListener("focus", () => {
      const piece = svg.closest(".piece").id;
      if (viewer.all && viewer.piece !== piece) showPiece(piece);
    });
    setUpPointers(svg);
  }
  const actions = { in: () => zoom(0.7), out: () => zoom(1 / 0.7), fit };
  for (const button of all("[data-zoom]")) {
    button.addEventListener("click", actions[button.dataset.zoom]);
  }
  byId("piece-choice").addEventListener("change", (event) => choose(event.target.value));
  byId("show-one").addEventListener("click", () => showAll(false));
  byId("show-all").addEventListener("click", () => showAll(true));
  wideScreen.addEventListener("change", placeDetail);
  let waiting = 0;
  addEventListener("resize", () => {
    cancelAnimationFrame(waiting);
    waiting = requestAnimationFrame(() => {
      if (viewer.all) scaleAll();
      else setBox(viewer.box);
      drawRoll();
    });
  });
  addEventListener("beforeprint", () => {
    for (const moved of [...byId("detail").children]) byId(moved.dataset.of).append(moved);
    for (const piece of Object.keys(data.pieces)) printDrawing(piece);
  });
  addEventListener("afterprint", () => {
    placeDetail();
    if (viewer.all) scaleAll();
    else setBox(viewer.box);
  });
}

// On paper every drawing is whole, and all are at one scale.
function printDrawing(piece) {
  const svg = drawingOf(piece);
  const box = homeBox(piece);
  svg.setAttribute("viewBox", box.join(" "));
  const scale = box[2] / Number(svg.getAttribute("width"));
  const letter = LETTER_PX * scale;
  setHatching(svg, scale);
  svg.style.fontSize = `${letter.toFixed(3)}px`;
  placeTexts(figureOf(piece), letter, box);
}

