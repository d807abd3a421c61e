/* A form marked data-once is sent once: its button says it is busy, a second press does nothing. */
export function onceOnly(root) {
  const forms = root.matches?.("form[data-once]") ? [root] : root.querySelectorAll("form[data-once]");
  for (const form of forms) {
    form.addEventListener("submit", (event) => {
      if (form.dataset.sent) {
        event.preventDefault();
        return;
      }
      form.dataset.sent = "yes";
      const button = event.submitter ?? form.querySelector("[type=submit]");
      if (button) {
        button.classList.add("busy");
        button.setAttribute("aria-disabled", "true");
      }
    });
  }
}

/* Back from the next page: the form may be sent again. */
window.addEventListener("pageshow", (event) => {
  if (!event.persisted) return;
  for (const form of document.querySelectorAll("form[data-sent]")) {
    delete form.dataset.sent;
    for (const button of form.querySelectorAll(".busy")) {
      button.classList.remove("busy");
      button.removeAttribute("aria-disabled");
    }
  }
});
