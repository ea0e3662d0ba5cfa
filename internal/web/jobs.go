package web

import "net/http"

func (s *Site) jobsPage(w http.ResponseWriter, r *http.Request) error { return notYet() }
func (s *Site) startJob(w http.ResponseWriter, r *http.Request) error { return notYet() }
func (s *Site) copyJob(w http.ResponseWriter, r *http.Request) error  { return notYet() }
func (s *Site) openJob(w http.ResponseWriter, r *http.Request) error  { return notYet() }
