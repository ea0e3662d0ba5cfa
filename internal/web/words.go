package web

import "net/http"

func (s *Site) wordsPage(w http.ResponseWriter, r *http.Request) error { return notYet() }

// meaningOf gives what a word means on these pages; "" where it isn't in the
// list of words.
func meaningOf(word string) string { return "" }
