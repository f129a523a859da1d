// Finding pieces by name and by what became of them; everything else steps back.

function findPieces() {
  const name = byId("find-name").value.trim().toLocaleLowerCase();
  const state = byId("find-state")?.value ?? "";
  const fits = new Set(Object.keys(data.pieces).filter((id) =>
    data.pieces[id].title.toLocaleLowerCase().includes(name) &&
    (!state || figureOf(id).dataset.state === state)));
  const joins = Object.values(data.joins).filter((join) => join.pieces.some((id) => fits.has(id)));
  const boxes = new Set([...fits, ...joins.map((join) => join.group)]);
  for (const node of all("#graph .node")) node.classList.toggle("is-out", !boxes.has(node.dataset.choose));
  for (const link of all("#graph [data-link]")) {
    link.classList.toggle("is-out", !fits.has(link.dataset.link.split(" ")[1]));
  }
  for (const figure of all("#figures > .piece")) figure.classList.toggle("is-out", !fits.has(figure.id));
  for (const item of all(".as-list [data-of]")) item.hidden = !fits.has(item.dataset.of);
  for (const option of byId("piece-choice").options) option.hidden = option.disabled = !fits.has(option.value);
  const all_ = Object.keys(data.pieces).length;
  byId("found").textContent = fits.size === all_ ? `${all_} ${all_ === 1 ? "piece" : "pieces"}` : `${fits.size} of ${all_} pieces`;
  if (fits.size && !fits.has(viewer.piece)) choose([...fits][0]);
  else if (viewer.all) scaleAll();
  const first = all("#graph .node:not(.is-out)")[0];
  if (first) {
    for (const node of all("#graph .node")) node.setAttribute("tabindex", node === first ? "0" : "-1");
    inFrame(first);
  }
}

// Bring a box of the graph into sight without moving the page.
function inFrame(node) {
  const frame = byId("graph-frame");
  const [box, room] = [node.getBoundingClientRect(), frame.getBoundingClientRect()];
  if (box.top < room.top || box.bottom > room.bottom) frame.scrollTop += box.top - room.top - room.height / 2;
  if (box.left < room.left || box.right > room.right) frame.scrollLeft += box.left - room.left - room.width / 2;
}

function setUpFinding() {
  byId("find-name").addEventListener("input", findPieces);
  byId("find-state")?.addEventListener("change", findPieces);
}

