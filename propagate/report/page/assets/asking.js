// Answers of the page: chosen by mouse or keyboard, saved as a file.

const data = JSON.parse(document.getElementById("data").textContent);
const sections = [...document.querySelectorAll(".question")];
const KEYS = { y: "yes", o: "turned", n: "no", l: "later" };
let saved = true;

const PER_UNIT = { mm: 1, cm: 10, in: 25.4 };

function fieldOf(number) {
  return sections[number].querySelector('input[type="text"]');
}

// A length as it is typed, with its unit; null when it is none that the question allows.
function typedLength(number) {
  const { least, most } = data.questions[number];
  const form = /^(?:(\d+)\s+)?(\d+\/0*[1-9]\d*|\d+(?:\.\d*)?|\.\d+)\s*(mm|cm|in)?$/;
  const found = form.exec(fieldOf(number).value.trim().toLowerCase());
  if (!found || (found[1] && !found[2].includes("/"))) return null;
  const [over, under] = found[2].split("/").map(Number);
  const mm = (Number(found[1] || 0) + (under ? over / under : over)) * PER_UNIT[found[3] || "mm"];
  if (mm < least || mm > most) return null;
  return { mm, text: found[3] ? found[0] : `${found[0]}mm` };
}

function picked(number) {
  const input = sections[number].querySelector("input:checked");
  return input ? input.value : "later";
}

function lacksLength(number) {
  return fieldOf(number) !== null && picked(number) === "yes" && !typedLength(number);
}

function chosen(number) {
  return lacksLength(number) ? "later" : picked(number);
}

function joins(number) {
  return ["yes", "turned"].includes(chosen(number));
}

function blends(number) {
  return data.questions[number].kind === "blending";
}

// What wants the same edge and is answered with yes: then this one can be left.
function takenBy(number) {
  if (chosen(number) !== "later") return undefined;
  return data.questions[number].rivals.find((k) => joins(k - 1));
}

function show() {
  const words = sections.map((_, number) => chosen(number));
  const count = words.filter((word) => word !== "later").length;
  const left = words.filter((word, number) => word === "later" && !takenBy(number)).length;
  document.getElementById("state").textContent = `${count} of ${words.length} answered, ${left} left`;
  sections.forEach((section, number) => {
    section.classList.toggle("is-answered", words[number] !== "later");
    const rivals = data.questions[number].rivals.filter((k) => joins(number) && joins(k - 1));
    const taken = takenBy(number);
    let said = "";
    if (rivals.length && blends(number)) {
      said = `Question ${rivals.join(", ")} is answered with yes as well, and one way alone can be told: what is saved has the first.`;
    } else if (rivals.length) {
      said = `Question ${rivals.join(", ")} wants the same edge and is answered with yes as well: is that so?`;
    } else if (taken) {
      said = blends(number)
        ? `Question ${taken} is answered with yes, and one way is enough.`
        : `Question ${taken} wants the same edge and is answered with yes: leave this one, unless both hold.`;
    } else if (lacksLength(number) && fieldOf(number).value) {
      said = `Found '${fieldOf(number).value}', expected ${data.questions[number].expected}; it is not saved.`;
    }
    const status = section.querySelector(".clash");
    if (status.textContent !== said) status.textContent = said;
  });
}

function goOn(number) {
  const next = sections.find((_, one) => one > number && !takenBy(one));
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
  if (word === "yes" && fieldOf(number)) fieldOf(number).focus();
  else goOn(number);
}

function answers() {
  const found = [];
  data.questions.forEach((one, number) => {
    const word = chosen(number);
    if (word === "later") return;
    if (blends(number) && joins(number) && found.some((row) => row.kind === "blending" && row.answer !== "no")) return;
    if (fieldOf(number)) {
      const typed = word === "yes" ? typedLength(number) : { mm: 0 };
      const row = { kind: one.kind, runs: [], answer: typed.mm > 0 ? "yes" : "no" };
      if (typed.mm > 0) row.width = typed.text;
      found.push(row);
      return;
    }
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
  show();
  const state = document.getElementById("state");
  state.textContent += `. Saved as ${data.file}; now call: propagate suggest SET --answers ${data.file}`;
}

document.documentElement.classList.add("has-script");
sections.forEach((section, number) => {
  section.addEventListener("change", () => {
    saved = false;
    show();
  });
  section.addEventListener("keydown", (event) => {
    const word = KEYS[event.key.toLowerCase()];
    if (event.target.type === "text" || !word || event.ctrlKey || event.metaKey || event.altKey) return;
    event.preventDefault();
    answered(number, word);
  });
});
sections.forEach((section, number) => {
  const field = fieldOf(number);
  if (!field) return;
  field.addEventListener("input", () => {
    section.querySelector('input[value="yes"]').checked = true;
    saved = false;
    show();
  });
  field.addEventListener("keydown", (event) => {
    if (event.key !== "Enter") return;
    event.preventDefault(); // else it presses the button that has the focus then
    if (typedLength(number)) goOn(number);
  });
});
if (sections.length) {
  document.getElementById("save").addEventListener("click", save);
  show();
}
window.addEventListener("beforeunload", (event) => {
  if (!saved) event.preventDefault();
});
