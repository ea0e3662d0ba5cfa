import { figure } from "./said.js";

// The value of the meter on the bench, as it comes.
document.addEventListener("meter", ({ detail }) => {
	const box = document.getElementById("value");
	if (!box) return;
	box.hidden = detail.text === "";
	document.getElementById("value-text").textContent = figure(detail.text);
	const words = document.getElementById("value-words");
	words.hidden = detail.words === "";
	words.textContent = detail.words;
});
