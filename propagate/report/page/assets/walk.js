// Rolling one run along the other, seam line on seam line, as on the table.

const roll = { join: null, walked: 0, first: null, second: null, playing: 0 };
const NEAR_MM = 32;

const turned = ([x, y], angle) => [
  x * Math.cos(angle) - y * Math.sin(angle), x * Math.sin(angle) + y * Math.cos(angle),
];

// A rigid motion, perhaps after turning the piece face down: x, then turn, then shift.
function motion(from, fromAngle, to, toAngle, flip) {
  const source = flip ? [-from[0], from[1]] : from;
  const angle = toAngle - (flip ? Math.PI - fromAngle : fromAngle);
  const moved = turned(source, angle);
  const shift = [to[0] - moved[0], to[1] - moved[1]];
  const apply = (p) => {
    const [x, y] = turned(flip ? [-p[0], p[1]] : p, angle);
    return [x + shift[0], y + shift[1]];
  };
  return { apply, angle, shift, flip };
}

// Lay the stretches of a run end to end, each going on in the direction of the one before.
function laid(stretches, above) {
  const parts = [];
  let end = [0, 0];
  let heading = 0;
  const points = [];
  for (const { p, e, a, b } of stretches) {
    const part = edgeLine(p, e).between(a, b);
    const flip = a < b !== above;
    const to = motion(part.at(0), part.direction(0, 3), end, heading, flip);
    const line = part.points.map(to.apply);
    const whole = !parts.some((other) => other.piece === p);
    const outline = whole ? pointsOf(figureOf(p).querySelector(".face").getAttribute("d")).map(to.apply) : null;
    parts.push({ piece: p, edge: e, outline, length: part.length });
    points.push(...(points.length ? line.slice(1) : line));
    end = line[line.length - 1];
    const along = new Line(line, part.length);
    heading = along.direction(part.length, 3);
  }
  return { parts, line: new Line(points, parts.reduce((sum, part) => sum + part.length, 0)) };
}

// Turn a laid run so that it goes level from left to right.
function levelled({ parts, line }) {
  const [a, b] = [line.at(0), line.at(line.length)];
  const turn = -Math.atan2(b[1] - a[1], b[0] - a[0]);
  const apply = (p) => turned([p[0] - a[0], p[1] - a[1]], turn);
  return {
    parts: parts.map((part) => ({ ...part, outline: part.outline?.map(apply) })),
    line: new Line(line.points.map(apply), line.length),
  };
}

function tick(line, at, side) {
  const [x, y] = line.at(at);
  const angle = line.direction(at);
  return `M${x} ${y}l${Math.sin(angle) * 7 * side} ${-Math.cos(angle) * 7 * side}`;
}

function sideGroup(side, kind, sign, places) {
  const group = drawn("g", { class: kind });
  for (const part of side.parts) {
    if (part.outline) group.append(drawn("path", { class: "sheet", d: `${pathOf(part.outline)}z` }));
  }
  group.append(drawn("path", { class: "run", d: pathOf(side.line.points) }));
  group.append(drawn("path", { class: "walked", d: "" }));
  for (const at of places) group.append(drawn("path", { class: "tick", d: tick(side.line, at, sign) }));
  return group;
}

function startRoll(id) {
  const join = data.joins[id];
  if (!join?.first || !byId("roll-slider")) return;
  stopPlaying();
  roll.join = id;
  roll.first = levelled(laid(join.first, true));
  roll.second = laid(join.second, false);
  byId("seam-choice").value = id;
  const scene = byId("roll-scene");
  scene.replaceChildren(
    sideGroup(roll.first, "still", 1, join.notches.map((n) => n[1])),
    sideGroup(roll.second, "rolling", -1, join.notches.map((n) => n[2])),
    drawn("circle", { class: "touch", r: 2.2 }),
  );
  const slider = byId("roll-slider");
  const step = join.lengths[0] > 200 ? 1 : 0.25;
  slider.step = step;
  slider.max = Math.ceil(join.lengths[0] / step) * step;
  slider.value = 0;
  roll.walked = 0;
  byId("roll-first-name").textContent = `lies still: ${join.words[0]}`;
  byId("roll-second-name").textContent = `rolls: ${join.words[1]}`;
  for (const button of ["roll-back", "roll-next"]) byId(button).hidden = !join.notches.length;
  byId("roll-end").textContent = endWords(join);
  byId("roll-end").dataset.mm = (join.lengths[1] - join.lengths[0] - join.ease).toFixed(6);
  drawRoll();
}

function endWords(join) {
  const sews = Math.abs(join.lengths[1] - join.lengths[0] - join.ease) <= join.tolerance;
  const [first, second, ease_] = [...join.lengths, join.ease].map((mm) => Number(inUnit(mm, 1)));
  const off = (second - first - ease_) * data.mm; // of the figures as they stand beside it
  const ease = join.ease ? ` with ${said(join.ease, 1)} of ease` : "";
  const none = Number(inUnit(off, 1)) === 0;
  const much = none ? "the ends meet" :
    `the one that rolls is ${said(Math.abs(off), 1)} ${off > 0 ? "longer" : "shorter"}`;
  return `${much}${ease}; ${sews ? "sews" : "does not sew"}, allowed ${said(join.tolerance)}`;
}

// Where the rolling side touches when so much of the still side is walked: ease is spread.
function partner(join, walked) {
  const [first, second] = join.lengths;
  return Math.min(walked * ((first + join.ease) / (first || 1)), second);
}

function nameAt(side, distance) {
  let done = 0;
  for (const part of side.parts) {
    done += part.length;
    if (distance <= done + 1e-6) {
      const { title, edges } = data.pieces[part.piece];
      return `${title}, ${edges[part.edge]}`;
    }
  }
  return "";
}

function drawRoll() {
  if (!roll.join) return;
  const join = data.joins[roll.join];
  const { walked } = roll;
  const other = partner(join, walked);
  const at = roll.first.line.at(walked);
  const to = motion(
    roll.second.line.at(other), roll.second.line.direction(other), at, roll.first.line.direction(walked), false,
  );
  const [still, rolling] = all("#roll-scene > g");
  const degrees = (to.angle * 180) / Math.PI;
  rolling.setAttribute("transform", `translate(${to.shift.join(" ")})rotate(${degrees})`);
  for (const [group, line, done] of [[still, roll.first.line, walked], [rolling, roll.second.line, other]]) {
    group.querySelector(".walked").setAttribute("d", done > 0 ? pathOf(line.between(0, done).points) : "");
  }
  const touch = byId("roll-scene").querySelector(".touch");
  touch.setAttribute("cx", at[0]);
  touch.setAttribute("cy", at[1]);
  byId("roll-near").setAttribute("viewBox", `${at[0] - NEAR_MM} ${at[1] - NEAR_MM} ${2 * NEAR_MM} ${2 * NEAR_MM}`);
  frameWhole();
  rollWords(join, walked, other);
}

// The whole of the run that lies still, from end to end.
function frameWhole() {
  const svg = byId("roll-whole");
  const place = svg.getBoundingClientRect();
  if (!place.width) return;
  const points = roll.first.line.points;
  const [xs, ys] = [points.map((p) => p[0]), points.map((p) => p[1])];
  const wide = (Math.max(...xs) - Math.min(...xs)) * 1.08 + 20;
  const tall = Math.max((wide * place.height) / place.width, (Math.max(...ys) - Math.min(...ys)) * 1.3 + 20);
  const middle = [(Math.max(...xs) + Math.min(...xs)) / 2, (Math.max(...ys) + Math.min(...ys)) / 2];
  svg.setAttribute("viewBox", `${middle[0] - wide / 2} ${middle[1] - tall / 2} ${wide} ${tall}`);
}

function rollWords(join, walked, other) {
  const first = `${said(walked, 1)} of ${said(join.lengths[0], 1)}, on ${nameAt(roll.first, walked)}`;
  const second = `${said(other, 1)} of ${said(join.lengths[1], 1)}, on ${nameAt(roll.second, other)}`;
  byId("roll-first").textContent = first;
  byId("roll-second").textContent = second;
  byId("roll-first").dataset.mm = walked.toFixed(6);
  byId("roll-first").dataset.length = join.lengths[0].toFixed(6);
  byId("roll-second").dataset.mm = other.toFixed(6);
  byId("roll-second").dataset.length = join.lengths[1].toFixed(6);
  const here = hereWords(join, walked);
  byId("roll-here").textContent = here;
  byId("roll-slider").setAttribute("aria-valuetext", `${said(walked)} walked; ${here}`);
}

function hereWords(join, walked) {
  const near = join.notches.find((notch) => Math.abs(notch[1] - walked) <= 0.5);
  if (near) {
    const off = near[2] - partner(join, near[1]);
    return `notches ${near[0]}: ${Math.abs(off) < 0.005 ? "they meet" : `${said(Math.abs(off), 1)} apart`}`;
  }
  if (walked <= 0) return "both begin here";
  if (walked >= join.lengths[0] - 1e-6) return "the end";
  const next = join.notches.filter((notch) => notch[1] > walked).sort((a, b) => a[1] - b[1])[0];
  return next ? `next notches in ${said(next[1] - walked)}` : "no notch from here to the end";
}

// Stops at notches and at both ends.
function toNotch(step) {
  const join = data.joins[roll.join];
  const stops = [0, ...join.notches.map((notch) => notch[1]), join.lengths[0]].sort((a, b) => a - b);
  const found = step > 0 ? stops.find((stop) => stop > roll.walked + 1e-6) : stops.filter((stop) => stop < roll.walked - 1e-6).pop();
  setWalked(found ?? (step > 0 ? join.lengths[0] : 0));
}

function setWalked(mm) {
  const slider = byId("roll-slider");
  roll.walked = Math.min(mm, data.joins[roll.join].lengths[0]);
  slider.value = mm >= data.joins[roll.join].lengths[0] - 1e-6 ? slider.max : mm;
  drawRoll();
}

function stopPlaying() {
  cancelAnimationFrame(roll.playing);
  roll.playing = 0;
  const button = byId("roll-play");
  button.setAttribute("aria-pressed", "false");
}

function play() {
  if (roll.playing) {
    stopPlaying();
    return;
  }
  if (calm.matches) {
    toNotch(1);
    return;
  }
  const join = data.joins[roll.join];
  let at = roll.walked < join.lengths[0] ? roll.walked : 0;
  let last = performance.now();
  byId("roll-play").setAttribute("aria-pressed", "true");
  const frame = (now) => {
    at += (join.lengths[0] * (now - last)) / 7000;
    last = now;
    setWalked(Math.min(at, join.lengths[0]));
    if (at < join.lengths[0]) roll.playing = requestAnimationFrame(frame);
    else stopPlaying();
  };
  roll.playing = requestAnimationFrame(frame);
}

function setUpRoll() {
  if (!byId("roll-slider")) return;
  byId("roll-slider").addEventListener("input", () => {
    stopPlaying();
    setWalked(Number(byId("roll-slider").value));
  });
  byId("seam-choice").addEventListener("change", (event) => choose(event.target.value));
  byId("roll-back").addEventListener("click", () => toNotch(-1));
  byId("roll-next").addEventListener("click", () => toNotch(1));
  byId("roll-play").addEventListener("click", play);
}

