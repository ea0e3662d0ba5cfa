package web

import "net/http"

func (s *Site) recordPage(w http.ResponseWriter, r *http.Request) error  { return notYet() }
func (s *Site) recordPaper(w http.ResponseWriter, r *http.Request) error { return notYet() }
func (s *Site) recordPDF(w http.ResponseWriter, r *http.Request) error   { return notYet() }
