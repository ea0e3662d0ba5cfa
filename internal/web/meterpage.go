package web

import "net/http"

func (s *Site) metersPage(w http.ResponseWriter, r *http.Request) error  { return notYet() }
func (s *Site) keepMeter(w http.ResponseWriter, r *http.Request) error   { return notYet() }
func (s *Site) tryMeter(w http.ResponseWriter, r *http.Request) error    { return notYet() }
func (s *Site) removeMeter(w http.ResponseWriter, r *http.Request) error { return notYet() }
func (s *Site) chooseMeter(w http.ResponseWriter, r *http.Request) error { return notYet() }
