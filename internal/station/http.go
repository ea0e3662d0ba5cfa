package station

import (
	"encoding/json"
	"fmt"
	"net"
	"net/http"
	"sync"
	"time"

	"gaugewright/internal/api"
	"gaugewright/internal/feed"
	"gaugewright/internal/feed/post"
	"gaugewright/internal/watch"
	"gaugewright/internal/web"
)

// HTTP is where readings may be posted and the page of the levels is.
type HTTP struct {
	Listen string   `toml:"listen"` // host:port, of this machine alone; "127.0.0.1:8766"
	Hosts  []string `toml:"hosts"`  // names by which a browser reaches it, besides its own
	post.Config
}

// usualHTTP is where the page of the levels is unless something else is asked for.
const usualHTTP = "127.0.0.1:8766"

// Addresses of the levels for programs.
const levelsPath = "/levels"

// buildHTTP makes the server of posts and pages.
func (s *Station) buildHTTP() error {
	c := s.config.HTTP
	if c.Listen == "" {
		c.Listen = usualHTTP
	}
	host, _, err := net.SplitHostPort(c.Listen)
	if err != nil {
		return fmt.Errorf("[http]: listen is %q; expected a host and a port, like %q", c.Listen, usualHTTP)
	}
	if ip := net.ParseIP(host); host != "localhost" && (ip == nil || !ip.IsLoopback()) {
		return fmt.Errorf("[http]: listen is %q, which other machines reach, and nobody is asked who they are there; expected an address of this machine alone, like %q", c.Listen, usualHTTP)
	}
	c.Signal = s.signal
	posts, err := post.New("http", c.Config)
	if err != nil {
		return fmt.Errorf("[http]: %w", err)
	}
	s.add(posts)
	// Streams hold a request open; they end when the server does.
	ending := make(chan struct{})
	pages, err := web.NewWatched(web.WatchedOptions{Watch: s, Now: s.o.Now, Log: s.o.Log, Hosts: c.Hosts, Languages: s.o.Languages, Ended: ending})
	if err != nil {
		return err
	}
	forPrograms, err := api.New(api.Options{Watch: ForPrograms(s), Take: s, Now: s.o.Now, Zone: s.o.Zone, Version: s.o.Version, Log: s.o.Log, Ending: ending})
	if err != nil {
		return err
	}
	mux := http.NewServeMux()
	mux.Handle(post.Path, posts)
	mux.Handle(post.Path+"/", posts)
	mux.HandleFunc("GET "+levelsPath, s.levels)
	mux.HandleFunc("GET "+levelsPath+"/{tank}", s.levels)
	mux.Handle("/", pages)
	s.server = &http.Server{Handler: web.Named(c.Hosts, forPrograms.Before(mux)), ReadHeaderTimeout: 10 * time.Second, IdleTimeout: 2 * time.Minute, MaxHeaderBytes: 32 << 10}
	s.server.RegisterOnShutdown(sync.OnceFunc(func() { close(ending) }))
	return nil
}

// listen takes the address.
func (s *Station) listen() error {
	l, err := net.Listen("tcp", s.config.HTTP.Listen)
	if err != nil {
		return fmt.Errorf("[http]: nothing can listen at %s: %w; set another with --set http.listen=HOST:PORT", s.config.HTTP.Listen, err)
	}
	s.listener = l
	return nil
}

// levels gives the levels as they are published, for programs that ask.
func (s *Station) levels(w http.ResponseWriter, r *http.Request) {
	now := s.o.Now()
	w.Header().Set("Content-Type", "application/json")
	w.Header().Set("Cache-Control", "no-store")
	write := func(v any) {
		if err := json.NewEncoder(w).Encode(v); err != nil {
			s.o.Log.Info("levels weren't sent", "error", err)
		}
	}
	if n := r.PathValue("tank"); n != "" {
		t := s.tanks[n]
		if t == nil {
			w.WriteHeader(http.StatusNotFound)
			write(map[string]string{"error": fmt.Sprintf("no tank %q is watched", n)})
			return
		}
		write(t.at(now).PublishIn(s.o.Zone))
		return
	}
	all := make([]watch.Published, 0, len(s.names))
	for _, level := range s.Levels(now) {
		all = append(all, level.PublishIn(s.o.Zone))
	}
	write(all)
}

// add takes a feed in.
func (s *Station) add(f feed.Feed) {
	s.feeds = append(s.feeds, &fed{feed: f, log: s.o.Log, now: s.o.Now, FeedState: web.FeedState{Name: f.Name()}})
}
