// What a page does where there is a script, beside swapping its parts: a slider tells its number as it moves.
addEventListener("input", (event) => {
  const slider = event.target;
  if (slider.type === "range") {
    const told = document.querySelector(`output[for="${slider.id}"]`);
    if (told) told.textContent = slider.value;
  }
});
