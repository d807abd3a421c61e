/* An error summary takes the focus; its links land in the field itself. */
export function errorSummary(root) {
  const summary = root.querySelector("[data-error-summary]");
  if (!summary) return;
  summary.focus();
  summary.addEventListener("click", (event) => {
    const link = event.target.closest("a[href^='#']");
    if (!link) return;
    const target = document.getElementById(link.hash.slice(1));
    if (!target) return;
    const field = target.matches("input, select, textarea") ? target : target.querySelector("input, select, textarea");
    if (!field) return;
    event.preventDefault();
    field.focus();
    field.scrollIntoView({ block: "center" });
  });
}
