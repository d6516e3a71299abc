// Tells on a waiting page how far its plan is, and shows the plan once it is there.

// Loading the page again would lose what is being typed into the question.
function isBeingTyped() {
  return [...document.querySelectorAll("form.ask input")].some((input) => {
    if (!(input instanceof HTMLInputElement)) return false;
    const isChanged = input.type === "radio" || input.type === "checkbox"
      ? input.checked !== input.defaultChecked
      : input.type !== "hidden" && input.value !== input.defaultValue;
    return isChanged || input === document.activeElement;
  });
}

const place = document.querySelector("[data-progress]");
if (place instanceof HTMLElement && place.dataset.progress) {
  const news = new EventSource(place.dataset.progress);
  news.addEventListener("chapter", (event) => {
    const [order, words] = String(event.data).split("\n");
    for (const line of document.querySelectorAll("[data-words]")) {
      if (line instanceof HTMLElement && line.dataset.words === order) {
        line.textContent = words ?? "";
      }
    }
  });
  news.addEventListener("done", () => {
    news.close();
    if (!isBeingTyped()) {
      location.reload();
      return;
    }
    for (const line of document.querySelectorAll("[data-words]")) {
      line.textContent = "The plan is there; load this page again to see it.";
    }
  });
}
