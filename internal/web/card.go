package web

import "net/http"

func (s *Site) cardPage(w http.ResponseWriter, r *http.Request) error    { return notYet() }
func (s *Site) factsPage(w http.ResponseWriter, r *http.Request) error   { return notYet() }
func (s *Site) keepFacts(w http.ResponseWriter, r *http.Request) error   { return notYet() }
func (s *Site) historyPage(w http.ResponseWriter, r *http.Request) error { return notYet() }
func (s *Site) newTankPage(w http.ResponseWriter, r *http.Request) error { return notYet() }
func (s *Site) addTank(w http.ResponseWriter, r *http.Request) error     { return notYet() }
func (s *Site) removeTank(w http.ResponseWriter, r *http.Request) error  { return notYet() }
