// Measures the screen with a card of known width (ISO/IEC 7810 ID-1: 85.60 mm), so that true size is true.

const CARD_MM = 85.6;
const KEPT = "sugarwright-px-per-mm";

/** @param {number} pixels pixels of this screen in one millimeter */
function show(pixels) {
  document.documentElement.style.setProperty("--card-mm", `${pixels}px`);
}

function kept() {
  try {
    const pixels = Number(localStorage.getItem(KEPT));
    return pixels > 1 && pixels < 40 ? pixels : undefined;
  } catch {
    return undefined;
  }
}

const before = kept();
if (before) show(before);

const place = document.querySelector("[data-screen-measure]");
const slider = place?.querySelector("input");
const card = place?.querySelector("[data-card]");
if (place instanceof HTMLElement && slider && card instanceof SVGElement) {
  place.hidden = false;
  slider.value = String((before ?? 96 / 25.4) * CARD_MM);
  const follow = () => {
    const pixels = Number(slider.value) / CARD_MM;
    card.style.inlineSize = `${slider.value}px`;
    show(pixels);
    try {
      localStorage.setItem(KEPT, String(pixels));
    } catch {
      // Without storage the measure holds for this page only.
    }
  };
  card.style.inlineSize = `${slider.value}px`;
  slider.addEventListener("input", follow);
}
