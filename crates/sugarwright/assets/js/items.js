// Says beside each file field what was chosen, and warns before sending what is too large.

const LARGEST = 4 * 1024 * 1024;

for (const input of document.querySelectorAll("input[type=file]")) {
  if (!(input instanceof HTMLInputElement) || input.accept.includes("zip")) continue;
  input.addEventListener("change", () => {
    const large = [...(input.files ?? [])].find((file) => file.size > LARGEST);
    input.setCustomValidity(large ? `${large.name} has more than 4 MB; a drawing of a cookie has far less` : "");
    input.reportValidity();
  });
}
