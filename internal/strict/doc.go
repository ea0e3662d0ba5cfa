// Package strict reads JSON files strictly against their JSON Schema, and says
// what is wrong with one in plain words: the line, the column and the JSON
// pointer of each problem, what was found, what was expected and what to do.
//
// A file is refused for anything its schema doesn't allow, above all a field
// that isn't known, and for what no schema can say: text that is no UTF-8, a
// field that stands twice, half a surrogate pair, and the rules of its own kind
// of file. A kind of file is a [Form].
package strict
