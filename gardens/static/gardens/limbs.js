// A tap on a limb of the drawing chooses it in the form "Write something down". Without script the form's own list does.
document.addEventListener("click", (event) => {
  const limb = event.target.closest(".picture-drawing [data-limb]");
  const choice = document.querySelector("#id_limb");
  if (!limb || !choice) return;
  const key = limb.dataset.limb;
  if (![...choice.options].some((option) => option.value === key)) return;
  choice.value = key;
  document.querySelector("#write").scrollIntoView({ block: "start" });
  document.querySelector("#id_what").focus({ preventScroll: true });
});
