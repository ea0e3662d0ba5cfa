// Package chart makes the product's drawings: the curve of a sender, the sight
// column of a tank, the two rulers that hold what is shown against what should
// be shown, the section of a tank with its level, and shapes with their
// dimensions.
//
// A drawing is a model first, strokes and lettering with a [Role] each, and
// only then SVG, so that pages, print and other writers share it. It is a pure
// function of a plain struct: the same figures give the same bytes.
//
// The drawings follow the habits of technical drawing: two line weights with a
// third for what matters most, rulers with ticks of three lengths, hatching
// for what isn't known exactly. Nothing is told by colour alone.
//
// Figures that can't be drawn (NaN, infinities, anything beyond [Limit]) are
// left out. A drawing with nothing left in it says so; none of the functions
// panics, and no SVG holds a number that isn't one.
package chart
