package web

import "net/http"

func (s *Site) setPage(w http.ResponseWriter, r *http.Request) error     { return notYet() }
func (s *Site) trySetting(w http.ResponseWriter, r *http.Request) error  { return notYet() }
func (s *Site) keepSetting(w http.ResponseWriter, r *http.Request) error { return notYet() }
