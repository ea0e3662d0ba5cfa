// Package language says the texts of the program in other languages.
//
// The rooms of the house speak whole English sentences and know no languages.
// A catalogue has each sentence form beside its translation, in the PO format
// of GNU gettext, one folder for each language. Where a sentence has figures,
// names or other phrases, its form has numbered holes:
//
//	msgid "Largest error at a reading: {1:number} points, at {2}."
//	msgstr "Größte Abweichung bei einer Ablesung: {1} Punkte, bei {2}."
//
// A hole with :number holds one figure, one with :date a date in words, one
// with :own what a user wrote; a hole with nothing more holds a phrase, which is
// said in its turn. Any other word after the colon is the context (msgctxt) in
// which the phrase is looked up first. <1> and </1> stand for a piece of mark-up
// inside a sentence of a page.
//
// A [Book] is one language. A [Voice] is a book together with the words that
// are a user's own and stay as they are.
package language
