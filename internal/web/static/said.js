// What the scripts say to people, in the language of the page. The page carries
// the words where it isn't English; {1}, {2} … stand for what differs.
const words = JSON.parse(document.querySelector("meta[name=said]")?.content || "{}");

export function said(english, ...parts) {
	return (words[english] ?? english).replace(/\{(\d)\}/g, (hole, n) => parts[n - 1] ?? hole);
}

// figure writes a bare figure with the sign that the language has before decimals.
const sign = (words["1.5"] ?? "1.5")[1];
export const figure = (text) => (/^[−-]?\d+\.\d+$/.test(text) ? text.replace(".", sign) : text);
