// The field for the permitted fill says what it is left at by what is chosen.
// The server puts the same in where the field is left empty.
const fill = document.getElementById("permitted_fill_pct");
const name = document.getElementById("name");

function suggest() {
	const chosen = document.querySelector("input[name=contents]:checked");
	if (!chosen) return;
	fill.placeholder = chosen.value === "lpg" ? "80" : "";
	name.placeholder = chosen.dataset.suggest || "";
}
document.addEventListener("change", (event) => { if (event.target.matches("input[name=contents]")) suggest(); });
suggest();
