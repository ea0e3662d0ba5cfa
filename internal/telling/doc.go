// Package telling puts results into words and tables, and takes wishes the way a
// person states them, once for the terminal and for the page: a figure is rounded
// here and nowhere else, so no two of them can tell a fitter different things.
//
// What it gives are texts without any layout: plain sentences, and a Grid for a
// table. Wrapping, padding, bullets and headings belong to whoever shows them.
// Shares come as points, so 0.125 is "12.5"; doubts are about 95 %, twice the
// standard uncertainty, rounded up; litres are cut, so that they don't tell more
// than there is.
//
// What a person stated and can't be used gives a *FieldError, which names the
// field. Other errors are those of the room that reckons.
package telling
