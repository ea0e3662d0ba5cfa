// Package finding has the one type in which every room says what it found out:
// a sentence for a person, a kind for a program, and how much it matters.
package finding

// Weight says what a finding asks of the reader.
type Weight int

const (
	// Note is a fact worth knowing; nothing has to be done.
	Note Weight = iota
	// Doubt is something to look at before relying on the result.
	Doubt
	// Bad means that the sender, or a check of it, isn't fit to be relied on.
	// A command that ends with one exits 1.
	Bad
)

// String gives the word used in files: "note", "doubt" or "bad".
func (w Weight) String() string { return [...]string{"note", "doubt", "bad"}[w] }

// MarshalText writes the weight as its word.
func (w Weight) MarshalText() ([]byte, error) { return []byte(w.String()), nil }

// Finding is one thing found out, with what to do about it in the same breath.
type Finding struct {
	Kind   string `json:"kind"`
	Text   string `json:"text"`
	Weight Weight `json:"weight"`
}

// Worst gives the greatest weight in a list; Note for an empty one.
func Worst(list []Finding) Weight {
	worst := Note
	for _, f := range list {
		worst = max(worst, f.Weight)
	}
	return worst
}
