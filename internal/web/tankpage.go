package web

import "net/http"

func (s *Site) tankPage(w http.ResponseWriter, r *http.Request) error { return notYet() }
func (s *Site) keepTank(w http.ResponseWriter, r *http.Request) error { return notYet() }
