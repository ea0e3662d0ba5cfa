// The field for the permitted fill says what it is left at by what is chosen.
// The server puts the same in where the field is left empty.
const fill = document.getElementById("permitted_fill_pct");
const name = document.getElementById("name");
const names = { lpg: "Gas", water: "Fresh water", diesel: "Diesel", petrol: "Petrol", waste: "Waste", other: "Tank" };

function suggest() {
	const chosen = document.querySelector("input[name=contents]:checked");
	if (!chosen) return;
	fill.placeholder = chosen.value === "lpg" ? "80" : "";
	name.placeholder = names[chosen.value] || "";
}
document.addEventListener("change", (event) => { if (event.target.matches("input[name=contents]")) suggest(); });
suggest();
