package web

import "net/http"

func (s *Site) provePage(w http.ResponseWriter, r *http.Request) error   { return notYet() }
func (s *Site) keepCheck(w http.ResponseWriter, r *http.Request) error   { return notYet() }
func (s *Site) strikeCheck(w http.ResponseWriter, r *http.Request) error { return notYet() }
