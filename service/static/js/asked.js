/* The caller's page: what is answered is kept at once, so that a lost signal or a closed page loses nothing. Without
   this script it is kept when going on. */
const form = document.querySelector("[data-asked]");
const kept = document.getElementById("kept");
let queue = Promise.resolve();

function keep(field) {
  const body = new FormData();
  body.set("csrfmiddlewaretoken", form.querySelector("[name=csrfmiddlewaretoken]").value);
  body.set("keep", "1");
  if (field.name === "about") {
    body.set("areas", "1");
    for (const box of form.querySelectorAll("[name=about]:checked")) body.append("about", box.value);
  } else if (field.dataset.off && !field.checked) body.set("off", field.dataset.off);
  else body.set(field.name, field.value);
  queue = queue.then(async () => {
    try {
      const answer = await fetch(location.pathname, { method: "POST", body, keepalive: true });
      kept.textContent = answer.ok ? kept.dataset.kept : kept.dataset.failed;
    } catch {
      kept.textContent = kept.dataset.failed;
    }
  });
}

/* Whether a field was answered before this script was here to see it. */
function early(field) {
  if (!field.name || field === document.activeElement || ["hidden", "submit", "file"].includes(field.type)) return false;
  if (["checkbox", "radio"].includes(field.type)) return field.checked !== field.defaultChecked && (field.type === "checkbox" || field.checked);
  return "defaultValue" in field && field.value !== field.defaultValue;
}

if (form) {
  for (const field of form.elements) if (field.name !== "words" && early(field)) keep(field);
  form.addEventListener("change", (event) => {
    const field = event.target;
    if (field.name && field.type !== "file" && field.name !== "words") keep(field);
  });
}
