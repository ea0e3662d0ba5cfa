package api

import (
	"net/http"
	"runtime"
	"strconv"
	"strings"

	"github.com/prometheus/client_golang/prometheus"
	"github.com/prometheus/client_golang/prometheus/collectors"
	"github.com/prometheus/client_golang/prometheus/promhttp"
)

// register makes the figures at /metrics.
func (a *API) register() error {
	a.figures = prometheus.NewRegistry()
	build := prometheus.NewGauge(prometheus.GaugeOpts{
		Name: "gaugewright_build_info", Help: "The program: always 1, with its version.",
		ConstLabels: prometheus.Labels{"version": a.o.Version, "go_version": runtime.Version()},
	})
	build.Set(1)
	a.counted = prometheus.NewCounterVec(prometheus.CounterOpts{
		Name: "gaugewright_http_requests_total", Help: "Requests that were answered, by what they asked for and the hundred of the status.",
	}, []string{"class", "code"})
	streams := prometheus.NewGaugeFunc(prometheus.GaugeOpts{
		Name: "gaugewright_http_streams", Help: "Streams of levels that are open.",
	}, func() float64 { return float64(len(a.streams)) })
	for _, c := range []prometheus.Collector{
		build, a.counted, streams, figures{a.o.Watch, a.o.Now},
		collectors.NewProcessCollector(collectors.ProcessCollectorOpts{}),
		// Of the many figures of Go those that tell a leak.
		collectors.NewGoCollector(collectors.WithGoCollectorMemStatsMetricsDisabled(),
			collectors.WithGoCollectorRuntimeMetrics(collectors.GoRuntimeMetricsRule{Matcher: fewOfGo})),
	} {
		if err := a.figures.Register(c); err != nil {
			return err
		}
	}
	shown := promhttp.HandlerFor(a.figures, promhttp.HandlerOpts{MaxRequestsInFlight: 4, Timeout: answerWithin})
	a.mux.HandleFunc(MetricsPath, func(w http.ResponseWriter, r *http.Request) {
		if r.Method != http.MethodGet && r.Method != http.MethodHead {
			w.Header().Set("Allow", "GET, HEAD")
			writeProblem(w, &Refusal{Status: http.StatusMethodNotAllowed, Detail: "This address is asked by GET."})
			return
		}
		if _, no := a.allowed(r, inside); no != nil {
			writeProblem(w, no)
			return
		}
		w.Header().Set("Cache-Control", "no-store")
		w.Header().Set("X-Content-Type-Options", "nosniff")
		shown.ServeHTTP(w, r)
	})
	return nil
}

// count counts the requests to a handler.
func (a *API) count(h http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		answer := &answer{ResponseWriter: w, status: http.StatusOK}
		// A stream that breaks off is counted as well.
		defer func() {
			a.counted.WithLabelValues(class(r.URL.Path), strconv.Itoa(answer.status/100)+"xx").Inc()
		}()
		h.ServeHTTP(answer, r)
	})
}

// class is what a request asks for, in one of a few words.
func class(path string) string {
	switch {
	case path == Path+"/levels/stream", strings.HasSuffix(path, "/live"):
		return "stream"
	case strings.HasPrefix(path, Path+"/"):
		return "api"
	case path == MetricsPath:
		return "metrics"
	case path == AlivePath, path == ReadyPath:
		return "health"
	case strings.HasPrefix(path, "/static/"):
		return "static"
	case path == "/readings", strings.HasPrefix(path, "/readings/"):
		return "readings"
	}
	return "pages"
}

// answer notes the status of an answer.
type answer struct {
	http.ResponseWriter
	status int
	begun  bool
}

// WriteHeader notes the status.
func (w *answer) WriteHeader(status int) {
	if !w.begun && status >= 200 { // 1xx come before it
		w.status, w.begun = status, true
	}
	w.ResponseWriter.WriteHeader(status)
}

// Unwrap is for [http.ResponseController].
func (w *answer) Unwrap() http.ResponseWriter { return w.ResponseWriter }
