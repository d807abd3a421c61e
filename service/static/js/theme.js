/* Runs before the page is painted, so the chosen theme never flashes. The choice stays on this device. */
(function () {
  const root = document.documentElement;
  try {
    const chosen = localStorage.getItem("theme");
    if (chosen) root.setAttribute("data-theme", chosen);
  } catch {
    root.dataset.themeKept = "no"; // storage is closed to us: the device's own setting stands
  }
})();
