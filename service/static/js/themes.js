/* The theme chosen on this device; empty = as the page and the device have it. */
export function themeSwitch(root) {
  const form = root.querySelector("[data-theme-switch]");
  if (!form) return;
  const select = form.querySelector("select");
  const html = document.documentElement;
  try {
    select.value = localStorage.getItem("theme") ?? "";
  } catch {
    return; // storage is closed to us: no switch that would not last
  }
  form.hidden = false;
  form.addEventListener("submit", (event) => event.preventDefault());
  select.addEventListener("change", () => {
    if (select.value) {
      localStorage.setItem("theme", select.value);
      html.setAttribute("data-theme", select.value);
      return;
    }
    localStorage.removeItem("theme");
    if (html.dataset.default) html.setAttribute("data-theme", html.dataset.default);
    else html.removeAttribute("data-theme");
  });
}
