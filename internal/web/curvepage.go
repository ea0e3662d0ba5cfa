package web

import "net/http"

func (s *Site) curvePage(w http.ResponseWriter, r *http.Request) error { return notYet() }
