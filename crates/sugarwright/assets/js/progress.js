// Tells on a waiting page how far its plan is, and shows the plan once it is there.

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
    location.reload();
  });
}
