/* The intake page while somebody is on the phone: every answer is kept as it is given, one request after another, and
   what follows from it is shown beside. Without this script the page's own buttons send the whole form. */
const form = document.querySelector("[data-intake]");
let queue = Promise.resolve();
const waits = new Map();

function say(words) {
  const place = document.getElementById("saved");
  if (place) place.textContent = words;
}

/* What somebody has opened or closed by hand stays so when the reasoning is drawn anew. */
const folded = new Map();
function fold() {
  for (const [id, open] of folded) {
    const part = document.getElementById(id);
    if (part) part.open = open;
  }
}

/* The question keeps the focus when a new one takes its place, so that keys go on answering. */
function refocus(inQuestion) {
  const lost = !document.activeElement || document.activeElement === document.body;
  if (inQuestion && lost) document.getElementById("question")?.focus({ preventScroll: true });
}

function send(values) {
  queue = queue.then(async () => {
    const inQuestion = Boolean(document.activeElement?.closest("#question"));
    const token = form.querySelector("[name=csrfmiddlewaretoken]").value;
    try {
      await htmx.ajax("POST", location.pathname, {
        target: "#reasoning",
        swap: "outerHTML",
        values: { ...values, csrfmiddlewaretoken: token },
      });
    } catch {
      say(form.dataset.failed);
    }
    fold();
    refocus(inQuestion);
  });
}

function valuesOf(field) {
  if (field.dataset.off && !field.checked) return { off: field.dataset.off };
  return { [field.name]: field.value };
}

function keep(field) {
  clearTimeout(waits.get(field));
  waits.delete(field);
  send(valuesOf(field));
}

const typed = (field) => field.matches("input:not([type=radio], [type=checkbox], [type=search], [type=hidden]), textarea");

/* A word narrows a list of boxes; Enter ticks the first that is left. */
function narrowing(line) {
  const list = document.getElementById(line.dataset.filter);
  const box = line.querySelector("input");
  const count = line.querySelector("[data-count]");
  const tiles = () => [...list.querySelectorAll(".tile")];
  const left = () => tiles().filter((tile) => !tile.hidden);
  const narrow = () => {
    const words = box.value.toLowerCase().split(/\s+/).filter(Boolean);
    for (const tile of tiles()) {
      const text = `${tile.textContent} ${tile.dataset.words}`.toLowerCase();
      tile.hidden = !words.every((word) => text.includes(word));
    }
    for (const group of list.querySelectorAll("fieldset")) {
      group.hidden = !group.querySelector(".tile:not([hidden])");
    }
    count.textContent = words.length ? `${count.dataset.count} ${left().length}` : "";
  };
  line.hidden = false;
  box.addEventListener("input", narrow);
  box.addEventListener("keydown", (event) => {
    if (event.key !== "Enter" && event.key !== "Escape") return;
    event.preventDefault();
    if (event.key === "Enter" && box.value) left()[0]?.querySelector("input").click();
    box.value = "";
    narrow();
  });
}

/* Figures choose within the question or the group of radios that has the focus. */
function chooseByFigure(event) {
  if (!/^[1-9]$/.test(event.key) || event.ctrlKey || event.metaKey || event.altKey) return;
  const group = event.target.closest("[data-keys]");
  if (!group || typed(event.target)) return;
  const all = group.id === "question" ? group.querySelectorAll(".answers button") : group.querySelectorAll("input[type=radio]");
  const chosen = all[Number(event.key) - 1];
  if (!chosen || (group.id === "question" && Number(event.key) > 3)) return;
  event.preventDefault();
  if (chosen.type === "radio") chosen.focus();
  chosen.click();
}

if (form) {
  form.addEventListener("change", (event) => {
    if (event.target.name) keep(event.target);
  });
  form.addEventListener("input", (event) => {
    const field = event.target;
    if (!field.name || !typed(field)) return;
    clearTimeout(waits.get(field));
    waits.set(field, setTimeout(() => keep(field), 900));
  });
  form.addEventListener("submit", (event) => {
    if (!event.submitter?.name || "whole" in event.submitter.dataset) return;
    event.preventDefault();
    send({ [event.submitter.name]: event.submitter.value });
  });
  form.addEventListener("keydown", (event) => {
    if (event.key === "Enter" && typed(event.target) && !event.target.matches("textarea")) {
      event.preventDefault();
      keep(event.target);
    }
  });
  form.addEventListener("click", (event) => {
    const part = event.target.closest("summary")?.parentElement;
    if (part?.id) folded.set(part.id, !part.open);
  });
  document.addEventListener("keydown", chooseByFigure);
  for (const line of form.querySelectorAll("[data-filter]")) narrowing(line);
  for (const trouble of ["htmx:responseError", "htmx:sendError", "htmx:timeout"]) {
    document.body.addEventListener(trouble, () => say(form.dataset.failed));
  }
}
