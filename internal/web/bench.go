package web

import "net/http"

func (s *Site) benchPage(w http.ResponseWriter, r *http.Request) error   { return notYet() }
func (s *Site) keepBench(w http.ResponseWriter, r *http.Request) error   { return notYet() }
func (s *Site) take(w http.ResponseWriter, r *http.Request) error        { return notYet() }
func (s *Site) undo(w http.ResponseWriter, r *http.Request) error        { return notYet() }
func (s *Site) strike(w http.ResponseWriter, r *http.Request) error      { return notYet() }
func (s *Site) restore(w http.ResponseWriter, r *http.Request) error     { return notYet() }
func (s *Site) correctPage(w http.ResponseWriter, r *http.Request) error { return notYet() }
func (s *Site) correct(w http.ResponseWriter, r *http.Request) error     { return notYet() }
func (s *Site) moveHand(w http.ResponseWriter, r *http.Request) error    { return notYet() }
