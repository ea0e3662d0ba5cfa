package web

import (
	"encoding/json"
	"net/http"
	"strings"
)

// What lets a phone keep the owner's page among its programs (W3C Web Application
// Manifest).

// The paper of the pages, light and dark, as a browser colours its own frame.
const paperLight, paperDark = "#f4f4ef", "#12161b"

type phoneIcon struct {
	Src     string `json:"src"`
	Sizes   string `json:"sizes"`
	Type    string `json:"type"`
	Purpose string `json:"purpose"`
}

type phoneManifest struct {
	ID         string      `json:"id"`
	Name       string      `json:"name"`
	ShortName  string      `json:"short_name"`
	Lang       string      `json:"lang"`
	StartURL   string      `json:"start_url"`
	Scope      string      `json:"scope"`
	Display    string      `json:"display"`
	Theme      string      `json:"theme_color"`
	Background string      `json:"background_color"`
	Icons      []phoneIcon `json:"icons"`
}

func (s *Site) leftManifest(w http.ResponseWriter, r *http.Request) error {
	m := phoneManifest{
		ID: leftPath, Name: leftTitle, ShortName: leftTitle, Lang: "en", StartURL: leftPath,
		// All of the site: signing in is a part of the way to the page.
		Scope: "/", Display: "standalone", Theme: paperLight, Background: paperLight,
		Icons: []phoneIcon{
			{assetPath("icon-192.png"), "192x192", "image/png", "any"},
			{assetPath("icon-512.png"), "512x512", "image/png", "any"},
			{assetPath("icon-192-maskable.png"), "192x192", "image/png", "maskable"},
			{assetPath("icon-512-maskable.png"), "512x512", "image/png", "maskable"},
		},
	}
	if b := s.book(r); b != nil {
		m.Lang = b.Code()
		m.Name, _ = b.Say(leftTitle)
		m.ShortName = m.Name
	}
	data, err := json.Marshal(m)
	if err != nil {
		return err
	}
	w.Header().Set("Content-Type", kinds[".webmanifest"])
	_, _ = w.Write(data) // a browser that went away is no matter
	return nil
}

// Phone says whether a page is one that a phone may keep.
func (v view) Phone() bool { return strings.HasPrefix(v.Page, "left") }

// PaperLight and PaperDark are the colours of the page's ground.
func (view) PaperLight() string { return paperLight }
func (view) PaperDark() string  { return paperDark }

// leftWorker is the script that stands between a phone and the site. It keeps one
// page, which has no level on it, for when the site isn't reached.
func (s *Site) leftWorker(w http.ResponseWriter, _ *http.Request) error {
	kept, err := json.Marshal(map[string]any{
		"page": leftPath, "away": leftAway, "title": "Gaugewright", "icon": assetPath("icon-192.png"),
		"files": []string{assetPath("base.css"), assetPath("leftaway.css"), assetPath("app.js"), assetPath("said.js"), assetPath("leftaway.js"), assetPath("mark.svg")},
	})
	if err != nil {
		return err
	}
	w.Header().Set("Content-Type", kinds[".js"])
	w.Header().Set("Service-Worker-Allowed", leftPath)
	_, _ = w.Write(append([]byte("const kept = "+string(kept)+";\n"), assets()["leftworker.js"].data...))
	return nil
}

// leftAway is what a phone shows where the site isn't reached.
func (s *Site) leftAway(w http.ResponseWriter, r *http.Request) error {
	return s.show(w, r, view{Page: "leftaway", Title: "Not reached"})
}
