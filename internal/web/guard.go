package web

import (
	"fmt"
	"net"
	"net/http"
	"net/netip"
	"net/url"
	"os"
	"strings"
)

// policy lets a page use nothing but what this site serves: no inline script or
// style, no other machine, and no frame but the record's own paper.
const policy = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; connect-src 'self'; " +
	"font-src 'self'; frame-src 'self'; manifest-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'self'"

// formLimit is the most that any form but an import may hold, in bytes.
const formLimit = 1 << 20

// guarded is what every request goes through before a page sees it.
func (s *Site) guarded(h http.Handler) http.Handler {
	return s.door(s.spoken(s.limited(s.signedIn(h))))
}

// door lets in who asks for this site by a name of its own, and no form that
// another site's page sends.
func (s *Site) door(h http.Handler) http.Handler {
	h = Named(s.o.Hosts, http.NewCrossOriginProtection().Handler(h))
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		head := w.Header()
		head.Set("Content-Security-Policy", policy)
		head.Set("X-Content-Type-Options", "nosniff")
		head.Set("Referrer-Policy", "same-origin")
		head.Set("Cross-Origin-Opener-Policy", "same-origin")
		head.Set("Cross-Origin-Resource-Policy", "same-origin")
		head.Set("Cache-Control", "no-store")
		if s.o.Strict {
			head.Set("Strict-Transport-Security", "max-age=31536000; includeSubDomains")
		}
		h.ServeHTTP(w, r)
	})
}

// Named lets a request through that asks for this machine by one of its own names,
// by a bare address or by one of the hosts. A name that leads here without being
// one of these is another site's, made to point at this machine so as to use it.
func Named(hosts []string, h http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if !namesUs(hosts, r.Host) {
			http.Error(w, "This address isn't one of the bench pages. Use the one that the program printed when it started.", http.StatusMisdirectedRequest)
			return
		}
		h.ServeHTTP(w, r)
	})
}

// limited keeps forms to a size that a form of these pages can have.
func (s *Site) limited(h http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if r.URL.Path == importPath {
			h.ServeHTTP(w, r)
			return
		}
		if r.Method == http.MethodPost && strings.HasPrefix(r.URL.Path, leftPath+"/") && strings.HasSuffix(r.URL.Path, "/docket") {
			r.Body = http.MaxBytesReader(w, r.Body, docketLimit) // there may be a picture in it
			h.ServeHTTP(w, r)
			return
		}
		// A form of fields is refused before it is read; one with a file says itself
		// what it can't take.
		if r.ContentLength > formLimit && !strings.HasPrefix(r.Header.Get("Content-Type"), "multipart/") {
			text := fmt.Sprintf("This form holds %d bytes, and none of these pages sends more than %d. Nothing was changed.", r.ContentLength, formLimit)
			if err := s.faultPage(w, r, &fault{http.StatusRequestEntityTooLarge, text, nil}); err != nil {
				s.o.Log.Error("page", "address", addressOf(r), "error", err)
			}
			return
		}
		r.Body = http.MaxBytesReader(w, r.Body, formLimit)
		h.ServeHTTP(w, r)
	})
}

// namesUs says whether a browser that asked for a host can have meant this site.
func namesUs(hosts []string, hostport string) bool {
	host := hostport
	if h, _, err := net.SplitHostPort(hostport); err == nil {
		host = h
	}
	host = strings.ToLower(strings.TrimSuffix(strings.Trim(host, "[]"), "."))
	if host == "localhost" || strings.HasSuffix(host, ".localhost") {
		return true
	}
	if _, err := netip.ParseAddr(host); err == nil {
		return true // a bare address can't be made to point elsewhere
	}
	if own, err := os.Hostname(); err == nil {
		own = strings.ToLower(own)
		if host == own || host == own+".local" {
			return true
		}
	}
	for _, name := range hosts {
		if strings.EqualFold(host, name) {
			return true
		}
	}
	return false
}

// localPath gives the path and query of an address on this site; "" for any
// other.
func localPath(address, host string) string {
	u, err := url.Parse(address)
	if err != nil || u.Host != "" && u.Host != host || !strings.HasPrefix(u.Path, "/") || strings.HasPrefix(u.Path, "//") || strings.Contains(u.Path, "\\") {
		return ""
	}
	return u.RequestURI()
}
