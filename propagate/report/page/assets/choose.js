// Choosing a piece, a seam or an edge: everything that shows it follows.

const zonesOf = (group) => Object.keys(data.joins).filter((id) => data.joins[id].group === group);

function choose(id, { goto = false } = {}) {
  const join = data.joins[id];
  const boxes = new Set(join ? [join.group] : [id]);
  for (const node of all("[data-choose][aria-pressed]")) {
    node.setAttribute("aria-pressed", String(boxes.has(node.dataset.choose)));
    if (node.closest("#graph") && boxes.has(node.dataset.choose)) inFrame(node);
  }
  for (const link of all("[data-link]")) {
    const [ofJoin, piece] = link.dataset.link.split(" ");
    link.classList.toggle("is-chosen", boxes.has(ofJoin) || boxes.has(piece));
  }
  for (const row of all("#walk-table tr[data-join]")) {
    row.classList.toggle("is-chosen", row.dataset.join === id);
  }
  clearEdges();
  if (join) chooseJoin(id, join);
  else showPiece(id);
  tell(id, join);
  if (goto) goTo(join?.first ? "roll" : "pieces");
}

function chooseJoin(id, join) {
  const edges = join.first ? [...join.first, ...join.second].map((part) => [part.p, part.e]) : join.edges;
  for (const [piece, edge] of edges) edgePath(piece, edge).classList.add("is-chosen");
  const pieces = edges.length ? edges.map(([piece]) => piece) : join.pieces;
  if (!pieces.includes(viewer.piece)) showPiece(pieces[0]);
  startRoll(id);
}

function clearEdges() {
  for (const path of all(".seam.is-chosen, .edges tr.is-chosen")) path.classList.remove("is-chosen");
  for (const button of all("[data-edge-of][aria-pressed=true]")) button.setAttribute("aria-pressed", "false");
}

function chooseEdge(piece, edge) {
  if (viewer.piece !== piece) showPiece(piece);
  clearEdges();
  edgePath(piece, edge).classList.add("is-chosen");
  const beside = byId("detail").querySelector(".beside") ?? figureOf(piece);
  const row = beside.querySelector(`.edges tr[data-edge="${edge}"]`);
  row.classList.add("is-chosen");
  row.querySelector("button").setAttribute("aria-pressed", "true");
  const told = all(".edge-why", beside);
  const own = told.find((node) => node.dataset.edge === String(edge));
  for (const node of told) node.classList.toggle("is-chosen", node === own);
  if (own) own.closest("details").open = true;
}

// Say what is chosen and where it can be seen; also for those who listen.
function tell(id, join) {
  const box = byId("chosen");
  const parts = [];
  if (join) {
    const zones = zonesOf(join.group);
    const names = join.pieces.map((piece) => data.pieces[piece].title).join(", ");
    parts.push(element("p", {}, `${join.name}: ${names}.`));
    const line = element("p", { class: "goto" });
    if (join.first) line.append(jump("walk it", "roll"), " ");
    line.append(jump("see its pieces", "pieces"));
    if (zones.length > 1) {
      line.append(" Zones: ");
      for (const zone of zones) line.append(pick(zone, data.joins[zone].name), " ");
    }
    parts.push(line);
  } else {
    const status = figureOf(id).querySelector(".status").textContent;
    parts.push(element("p", {}, `${data.pieces[id].title}: ${status}.`));
    const line = element("p", { class: "goto" });
    line.append(jump("see the drawing", "pieces"));
    const joins = Object.keys(data.joins).filter((key) => data.joins[key].pieces.includes(id) && data.joins[key].first);
    if (joins.length) line.append(" Sewn by: ");
    for (const key of joins) line.append(pick(key, data.joins[key].name), " ");
    parts.push(line);
  }
  box.replaceChildren(...parts);
}

function jump(text, section) {
  const button = element("button", { type: "button", class: "link" }, text);
  button.addEventListener("click", () => goTo(section));
  return button;
}

function pick(id, text) {
  const button = element("button", { type: "button", class: "link" }, text);
  button.addEventListener("click", () => choose(id));
  return button;
}

function goTo(section) {
  const head = byId(`${section}-head`);
  head.setAttribute("tabindex", "-1");
  head.focus({ preventScroll: true });
  byId(section).scrollIntoView({ behavior: calm.matches ? "auto" : "smooth", block: "start" });
}

// In the graph one box is in the tab order; arrow keys go to the nearest in that direction.
const WAYS = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };

function graphKey(event) {
  const node = event.target.closest(".node");
  if (!node) return;
  if (event.key === "Enter" || event.key === " ") {
    event.preventDefault();
    choose(node.dataset.choose);
    return;
  }
  const way = WAYS[event.key];
  if (!way) return;
  event.preventDefault();
  const place = (n) => [Number(n.dataset.x), Number(n.dataset.y)];
  const from = place(node);
  let best = null;
  for (const other of all("#graph .node")) {
    const to = place(other);
    const ahead = (to[0] - from[0]) * way[0] + (to[1] - from[1]) * way[1];
    const aside = Math.abs((to[0] - from[0]) * way[1]) + Math.abs((to[1] - from[1]) * way[0]);
    if (other === node || ahead < 4) continue;
    const cost = ahead + 2 * aside;
    if (!best || cost < best[0]) best = [cost, other];
  }
  if (best) focusNode(best[1]);
}

function focusNode(node) {
  for (const other of all("#graph .node")) other.setAttribute("tabindex", other === node ? "0" : "-1");
  node.focus();
}

function setUpChoosing() {
  const graph = byId("graph");
  graph.addEventListener("keydown", graphKey);
  document.addEventListener("click", (event) => {
    const target = event.target.closest("[data-choose], [data-edge-of]");
    if (!target) return;
    if (target.tagName === "A") event.preventDefault();
    if (target.dataset.edgeOf) chooseEdge(target.dataset.edgeOf, target.dataset.edge);
    else if (graph.contains(target)) choose(target.dataset.choose);
    else choose(target.dataset.choose, { goto: true });
  });
}

