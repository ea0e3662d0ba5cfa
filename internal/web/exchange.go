package web

import "net/http"

func (s *Site) importJobs(w http.ResponseWriter, r *http.Request) error { return notYet() }
func (s *Site) jobFile(w http.ResponseWriter, r *http.Request) error    { return notYet() }
