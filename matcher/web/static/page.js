// What a page does where there is a script, beside swapping its parts.

// A slider tells its number as it moves.
addEventListener("input", (event) => {
  const slider = event.target;
  if (slider.type === "range") {
    const told = document.querySelector(`output[for="${slider.id}"]`);
    if (told) told.textContent = slider.value;
  }
});

// Where the browser reads codes by itself, the camera can type a part's number.
const bay = document.querySelector("form[data-scan]");
if (bay && "BarcodeDetector" in window && navigator.mediaDevices) {
  const box = bay.elements.part;
  const button = Object.assign(document.createElement("button"), { type: "button", className: "plain" });
  button.textContent = bay.dataset.scan;
  box.after(button);
  button.addEventListener("click", () => scan(box, button).catch((error) => { button.textContent = error.message; }));
}

async function scan(box, button) {
  const stream = await navigator.mediaDevices.getUserMedia({ video: { facingMode: "environment" } });
  const video = Object.assign(document.createElement("video"), { muted: true, playsInline: true, srcObject: stream });
  video.setAttribute("aria-label", bay.dataset.scanning);
  button.replaceWith(video);
  await video.play();
  const reader = new BarcodeDetector();
  let found = [];
  while (!found.length && video.isConnected) {
    found = await reader.detect(video);
    await new Promise(requestAnimationFrame);
  }
  for (const track of stream.getTracks()) track.stop();
  video.replaceWith(button);
  if (found.length) box.value = found[0].rawValue.trim();
  box.focus();
}
