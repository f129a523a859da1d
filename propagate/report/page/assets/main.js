// Sorting tables, and the start.

function setUpSorting() {
  const table = byId("walk-table");
  if (!table) return;
  const keyOf = (row, key) => {
    if (key === "kind" || key === "name") return row.dataset[key].toLocaleLowerCase();
    return key === "rank" ? Number(row.dataset.rank) : Number(row.dataset.by.split(" ")[key]);
  };
  const heads = all("th[data-key]", table);
  for (const head of heads) {
    head.querySelector("button").addEventListener("click", () => {
      const key = head.dataset.key;
      const was = head.getAttribute("aria-sort");
      const way = was ? (was === "ascending" ? -1 : 1) : key === "3" ? -1 : 1;
      for (const other of heads) other.removeAttribute("aria-sort");
      head.setAttribute("aria-sort", way > 0 ? "ascending" : "descending");
      const rows = [...table.tBodies[0].rows];
      rows.sort((a, b) => {
        const [x, y] = [keyOf(a, key), keyOf(b, key)];
        const order = x < y ? -1 : x > y ? 1 : 0;
        return order * way || keyOf(b, "3") - keyOf(a, "3");
      });
      table.tBodies[0].append(...rows);
    });
  }
}

function start() {
  document.documentElement.classList.add("has-script");
  setUpLayers();
  setUpViewer();
  setUpMeasure();
  setUpRoll();
  setUpChoosing();
  setUpFinding();
  setUpSteps();
  setUpSorting();
  const pieces = Object.keys(data.pieces);
  const joins = Object.keys(data.joins).filter((id) => data.joins[id].first);
  if (joins.length) startRoll(joins[0]);
  choose(pieces.find((piece) => figureOf(piece).dataset.state === "changed") ?? pieces[0]);
}

start();
