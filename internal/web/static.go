package web

import (
	"bytes"
	"crypto/sha256"
	"embed"
	"encoding/hex"
	"io/fs"
	"net/http"
	"path"
	"strings"
	"sync"
	"time"

	"gaugewright/internal/chart"
)

//go:embed static
var staticFiles embed.FS

// asset is one file of the site.
type asset struct {
	data []byte
	kind string
	mark string // of its contents; a part of its address, so that it may be kept for good
}

var kinds = map[string]string{
	".css": "text/css; charset=utf-8", ".js": "text/javascript; charset=utf-8",
	".svg": "image/svg+xml", ".webmanifest": "application/manifest+json", ".png": "image/png",
}

// assets are the files by name. The colours of the drawings come first in
// base.css, so that there is one palette.
var assets = sync.OnceValue(loadAssets)

func loadAssets() map[string]asset {
	all := map[string]asset{}
	names, err := fs.Glob(staticFiles, "static/*")
	if err != nil {
		panic(err) // the pattern above is wrong
	}
	whole := sha256.New()
	for _, name := range names {
		data, err := staticFiles.ReadFile(name)
		if err != nil {
			panic(err) // it is in the program
		}
		if path.Base(name) == "base.css" {
			data = append([]byte(chart.CSS()), data...)
		}
		whole.Write(data)
		all[path.Base(name)] = asset{data: data, kind: kinds[path.Ext(name)]}
	}
	// One mark for all: a script imports others by their plain names, and those
	// must be of the same making.
	mark := hex.EncodeToString(whole.Sum(nil))[:12]
	for name, a := range all {
		a.mark = mark
		all[name] = a
	}
	return all
}

// asset gives the address of a file of the site.
func assetPath(name string) string { return staticPath + assets()[name].mark + "/" + name }

// static serves the files. Under their mark they never change.
var static = http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
	mark, name, _ := strings.Cut(r.PathValue("name"), "/")
	a, ok := assets()[name]
	if !ok || mark != a.mark {
		http.NotFound(w, r)
		return
	}
	w.Header().Set("Content-Type", a.kind)
	w.Header().Set("Cache-Control", "public, max-age=31536000, immutable")
	http.ServeContent(w, r, name, time.Time{}, bytes.NewReader(a.data))
})
