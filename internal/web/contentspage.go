package web

import "net/http"

func (s *Site) contentsPage(w http.ResponseWriter, r *http.Request) error { return notYet() }
func (s *Site) keepContents(w http.ResponseWriter, r *http.Request) error { return notYet() }
