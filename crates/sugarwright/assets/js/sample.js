// Picks the colors of a sample and of plain icing from a photograph, which never leaves the device.

const STEPS = [
  ["seen", "Touch the sample."],
  ["plain", "Now touch the plain icing."],
  ["white", "Now touch white paper, if there is some in it; or add the sample."],
];
/** Pixels around the touch that are averaged. */
const REACH = 6;
const LARGEST = 900;

/** @param {HTMLElement} place */
function follow(place) {
  const file = place.querySelector("input[type=file]");
  const canvas = place.querySelector("canvas");
  const say = place.querySelector("[data-say]");
  const form = place.closest("form");
  const pencil = canvas?.getContext("2d", { willReadFrequently: true });
  if (!(file instanceof HTMLInputElement) || !canvas || !say || !form || !pencil) return;
  place.hidden = false;
  let step = 0;
  const ask = () => {
    say.textContent = STEPS[step]?.[1] ?? "All three are picked.";
  };
  file.addEventListener("change", async () => {
    const photo = file.files?.[0];
    if (!photo) return;
    try {
      const picture = await createImageBitmap(photo);
      const scale = Math.min(1, LARGEST / Math.max(picture.width, picture.height));
      canvas.width = Math.max(1, Math.round(picture.width * scale));
      canvas.height = Math.max(1, Math.round(picture.height * scale));
      pencil.drawImage(picture, 0, 0, canvas.width, canvas.height);
      canvas.hidden = false;
      step = 0;
      ask();
    } catch {
      say.textContent = "This file is no picture the browser can show; take a JPEG or PNG.";
    }
  });
  canvas.addEventListener("click", (event) => {
    const field = STEPS[step]?.[0];
    const input = field ? form.querySelector(`[name=${field}]`) : undefined;
    if (!(input instanceof HTMLInputElement)) return;
    const box = canvas.getBoundingClientRect();
    const x = Math.round(((event.clientX - box.left) / box.width) * canvas.width);
    const y = Math.round(((event.clientY - box.top) / box.height) * canvas.height);
    input.value = average(pencil, x, y);
    step += 1;
    ask();
  });
}

/**
 * The mean color around a pixel, as #rrggbb.
 * @param {CanvasRenderingContext2D} pencil
 * @param {number} x
 * @param {number} y
 */
function average(pencil, x, y) {
  const left = Math.max(0, x - REACH);
  const top = Math.max(0, y - REACH);
  const pixels = pencil.getImageData(left, top, 2 * REACH + 1, 2 * REACH + 1).data;
  const sums = [0, 0, 0];
  let n = 0;
  for (let at = 0; at + 3 < pixels.length; at += 4) {
    if (pixels[at + 3] === 0) continue;
    n += 1;
    for (let channel = 0; channel < 3; channel += 1) sums[channel] += pixels[at + channel];
  }
  const hex = sums.map((sum) => Math.round(sum / Math.max(1, n)).toString(16).padStart(2, "0"));
  return `#${hex.join("")}`;
}

/**
 * Puts a color picker before a field for #rrggbb.
 * @param {HTMLInputElement} field
 */
function addPicker(field) {
  const picker = document.createElement("input");
  picker.type = "color";
  picker.setAttribute("aria-label", `Pick: ${field.labels?.[0]?.textContent ?? "color"}`);
  picker.addEventListener("input", () => {
    field.value = picker.value;
  });
  field.before(picker);
}

for (const field of document.querySelectorAll("[name=seen], [name=plain], [name=white], [name=next_day]")) {
  if (field instanceof HTMLInputElement) addPicker(field);
}
for (const place of document.querySelectorAll("[data-photo]")) {
  if (place instanceof HTMLElement) follow(place);
}
