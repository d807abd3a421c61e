// A signature drawn with finger, pen or mouse: kept as SVG path data (only M, L and whole numbers) in the
// form's hidden field. Without this script the typed name alone answers.
const pad = document.querySelector("[data-sign]");
if (pad) {
  const canvas = pad.querySelector("canvas");
  const field = pad.closest("form").querySelector('input[name="signature"]');
  const pen = canvas.getContext("2d");
  let drawing = false;
  pad.hidden = false;

  const at = (event) => {
    const box = canvas.getBoundingClientRect();
    const x = ((event.clientX - box.left) * canvas.width) / box.width;
    const y = ((event.clientY - box.top) * canvas.height) / box.height;
    return [Math.round(x), Math.round(y)];
  };
  const ink = () => getComputedStyle(canvas).color;

  canvas.addEventListener("pointerdown", (event) => {
    event.preventDefault();
    canvas.setPointerCapture(event.pointerId);
    drawing = true;
    const [x, y] = at(event);
    pen.lineWidth = 2.2;
    pen.lineCap = "round";
    pen.strokeStyle = ink();
    pen.beginPath();
    pen.moveTo(x, y);
    field.value += `M${x} ${y}`;
  });
  canvas.addEventListener("pointermove", (event) => {
    if (!drawing || field.value.length > 19000) return;
    const [x, y] = at(event);
    pen.lineTo(x, y);
    pen.stroke();
    field.value += `L${x} ${y}`;
  });
  const stop = () => { drawing = false; };
  canvas.addEventListener("pointerup", stop);
  canvas.addEventListener("pointercancel", stop);
  pad.querySelector("[data-sign-clear]").addEventListener("click", () => {
    pen.clearRect(0, 0, canvas.width, canvas.height);
    field.value = "";
  });
}
