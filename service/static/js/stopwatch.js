// A stopwatch for the drawdown test: one large button. Stopping puts the seconds into the first run that has
// none. Without this script the seconds are typed.
const watch = document.querySelector("[data-watch]");
if (watch) {
  const button = watch.querySelector("button");
  const whole = watch.querySelector("[data-whole]");
  const part = watch.querySelector("[data-part]");
  const said = watch.querySelector("[data-said]");
  const fields = [...watch.closest("form").querySelectorAll('input[name^="seconds_"]')].slice(0, 3);
  let began = 0;
  let frame = 0;
  watch.hidden = false;

  const show = (seconds) => {
    const tenths = Math.round(seconds * 10);
    whole.textContent = `${Math.floor(tenths / 600)}:${String(Math.floor(tenths / 10) % 60).padStart(2, "0")}`;
    part.textContent = `.${tenths % 10}`;
  };
  const run = () => {
    show((performance.now() - began) / 1000);
    frame = requestAnimationFrame(run);
  };
  const free = () => fields.find((field) => field.value.trim() === "");

  button.addEventListener("click", () => {
    if (began) {
      cancelAnimationFrame(frame);
      const seconds = (performance.now() - began) / 1000;
      began = 0;
      show(seconds);
      const field = free();
      field.value = seconds.toFixed(1);
      said.textContent = `${field.labels[0]?.textContent ?? ""}: ${field.value}`;
      button.textContent = free() ? watch.dataset.start : watch.dataset.full;
      return;
    }
    if (!free()) {
      button.textContent = watch.dataset.full;
      return;
    }
    began = performance.now();
    button.textContent = watch.dataset.stop;
    run();
  });
}
