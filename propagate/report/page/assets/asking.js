// Answers of the page: chosen by mouse or keyboard, saved as a file.

const data = JSON.parse(document.getElementById("data").textContent);
const sections = [...document.querySelectorAll(".question")];
const KEYS = { y: "yes", o: "turned", n: "no", l: "later" };
let saved = true;

function chosen(number) {
  const input = sections[number].querySelector("input:checked");
  return input ? input.value : "later";
}

function joins(number) {
  return ["yes", "turned"].includes(chosen(number));
}

function show() {
  const words = sections.map((_, number) => chosen(number));
  const count = words.filter((word) => word !== "later").length;
  document.getElementById("state").textContent = `${count} of ${words.length} answered`;
  sections.forEach((section, number) => {
    section.classList.toggle("is-answered", words[number] !== "later");
    const rivals = data.questions[number].rivals.filter((k) => joins(number) && joins(k - 1));
    const said = rivals.length
      ? `Question ${rivals.join(", ")} wants the same edge and is answered with yes as well: is that so?`
      : "";
    const status = section.querySelector(".clash");
    if (status.textContent !== said) status.textContent = said;
  });
}

function goOn(number) {
  const next = sections[number + 1];
  const target = next ? next.querySelector("input:checked") : document.getElementById("save");
  target.focus({ preventScroll: true });
  (next || target).scrollIntoView({ block: next ? "start" : "nearest" });
}

function answered(number, word) {
  const input = sections[number].querySelector(`input[value="${word}"]`);
  if (!input) return;
  input.checked = true;
  saved = false;
  show();
  goOn(number);
}

function answers() {
  const found = [];
  data.questions.forEach((one, number) => {
    const word = chosen(number);
    if (word === "later") return;
    const row = { kind: one.kind, runs: word === "turned" ? one.turned : one.runs, answer: word };
    if (one.text[word]) Object.assign(row, { text: one.text[word], written: false });
    found.push(row);
  });
  return { format: data.format, set: data.set, answers: found };
}

function save() {
  const content = new Blob([`${JSON.stringify(answers(), null, 2)}\n`], { type: "application/json" });
  const link = document.createElement("a");
  link.href = URL.createObjectURL(content);
  link.download = data.file;
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), 1000);
  saved = true;
}

document.documentElement.classList.add("has-script");
sections.forEach((section, number) => {
  section.addEventListener("change", () => {
    saved = false;
    show();
  });
  section.addEventListener("keydown", (event) => {
    const word = KEYS[event.key.toLowerCase()];
    if (!word || event.ctrlKey || event.metaKey || event.altKey) return;
    event.preventDefault();
    answered(number, word);
  });
});
if (sections.length) {
  document.getElementById("save").addEventListener("click", save);
  show();
}
window.addEventListener("beforeunload", (event) => {
  if (!saved) event.preventDefault();
});
