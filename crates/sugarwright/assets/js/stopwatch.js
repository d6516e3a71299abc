// A stopwatch for the count: one large button that starts it, and takes the reading when the icing is smooth.

const place = document.querySelector("[data-stopwatch]");
const clock = place?.querySelector(".clock");
const button = place?.querySelector("button");
const form = place?.closest("form");
const seconds = form?.querySelector("[name=seconds]");

if (place instanceof HTMLElement && clock && button && form && seconds instanceof HTMLInputElement) {
  place.hidden = false;
  /** @type {number | undefined} */
  let begun;
  const show = () => {
    if (begun === undefined) return;
    clock.textContent = ((performance.now() - begun) / 1000).toFixed(1);
    requestAnimationFrame(show);
  };
  button.addEventListener("click", () => {
    if (begun === undefined) {
      begun = performance.now();
      button.textContent = "Smooth now";
      show();
      return;
    }
    const passed = (performance.now() - begun) / 1000;
    begun = undefined;
    clock.textContent = passed.toFixed(1);
    seconds.value = passed.toFixed(0);
    button.textContent = "Start again";
    form.querySelector("[value=count]")?.focus();
  });
}
