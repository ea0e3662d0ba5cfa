package web

import (
	"cmp"
	"net/http"
	"slices"
	"strings"
)

// word is one entry of the list of words.
type word struct {
	ID       string // of its place on the page: /words#heel
	Name     string
	Also     []string // other names by which it is asked for
	Meaning  string   // one sentence
	Example  string   // a second one, with figures; may be empty
	From     string   // where the word comes from
	Headings string   // the letter that it stands under
}

// wordsBody is the page of words.
type wordsBody struct {
	How      []howStep
	Cautions []string
	Words    []word
}

type howStep struct{ Name, Text string }

// wordsPage is the list of words, with how a job goes and what to beware of.
func (s *Site) wordsPage(w http.ResponseWriter, r *http.Request) error {
	return s.show(w, r, view{Page: "words", Title: "Words", Body: wordsBody{howAJobGoes, generalCautions, allWords}})
}

// allWords is in the order of the alphabet.
var allWords = func() []word {
	list := slices.Concat(wordsOfBench, tankWords, settingWords, faultWords)
	for i := range list {
		list[i].ID = wordID(list[i].Name)
	}
	slices.SortFunc(list, func(a, b word) int { return cmp.Compare(strings.ToLower(a.Name), strings.ToLower(b.Name)) })
	letter := ""
	for i := range list {
		if own := strings.ToUpper(list[i].Name[:1]); own != letter {
			letter, list[i].Headings = own, own
		}
	}
	return list
}()

// wordID makes the id of an entry: small letters, digits and hyphens.
func wordID(name string) string {
	return strings.Trim(squeezed(strings.Map(func(r rune) rune {
		switch {
		case r >= 'a' && r <= 'z', r >= '0' && r <= '9':
			return r
		case r >= 'A' && r <= 'Z':
			return r + 'a' - 'A'
		}
		return '-'
	}, name)), "-")
}

var wordIndex = func() map[string]word {
	index := map[string]word{}
	for _, w := range allWords {
		for _, name := range append([]string{w.Name, w.ID}, w.Also...) {
			index[strings.ToLower(name)] = w
		}
	}
	return index
}()

// meaningOf gives what a word means on these pages, in one sentence; "" where
// it isn't in the list of words.
func meaningOf(name string) string { return wordIndex[strings.ToLower(name)].Meaning }
