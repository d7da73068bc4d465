package web

import (
	"net/http"
	"strconv"
	"time"

	"github.com/prometheus/client_golang/prometheus"
	"github.com/prometheus/client_golang/prometheus/collectors"
	"github.com/prometheus/client_golang/prometheus/promhttp"
)

// metrics has a registry of its own.
type metrics struct {
	registry *prometheus.Registry
	requests *prometheus.CounterVec
	seconds  *prometheus.HistogramVec
	plans    *prometheus.CounterVec
	refused  prometheus.Counter
}

func newMetrics(kept func() int, running func() int) *metrics {
	m := &metrics{
		registry: prometheus.NewRegistry(),
		requests: prometheus.NewCounterVec(prometheus.CounterOpts{Name: "ampleway_requests_total", Help: "Answered requests by pattern and status."}, []string{"pattern", "status"}),
		seconds:  prometheus.NewHistogramVec(prometheus.HistogramOpts{Name: "ampleway_request_seconds", Help: "Time to answer by pattern.", Buckets: []float64{.002, .005, .01, .02, .05, .1, .2, .5, 1, 2, 5, 10}}, []string{"pattern"}),
		plans:    prometheus.NewCounterVec(prometheus.CounterOpts{Name: "ampleway_plans_total", Help: "Plans asked for, by how they ended."}, []string{"outcome"}),
		refused:  prometheus.NewCounter(prometheus.CounterOpts{Name: "ampleway_files_refused_total", Help: "Dropped files that could not be used."}),
	}
	m.registry.MustRegister(m.requests, m.seconds, m.plans, m.refused,
		prometheus.NewGaugeFunc(prometheus.GaugeOpts{Name: "ampleway_routes_kept", Help: "Dropped routes in memory."}, func() float64 { return float64(kept()) }),
		prometheus.NewGaugeFunc(prometheus.GaugeOpts{Name: "ampleway_plans_running", Help: "Plans being worked on."}, func() float64 { return float64(running()) }),
		collectors.NewGoCollector(), collectors.NewProcessCollector(collectors.ProcessCollectorOpts{}))
	return m
}

func (m *metrics) handler() http.Handler {
	return promhttp.HandlerFor(m.registry, promhttp.HandlerOpts{})
}

// watch counts and times what a mux answers, by the pattern that matched.
func (m *metrics) watch(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		start := time.Now()
		seen := &statusWriter{ResponseWriter: w, status: http.StatusOK}
		next.ServeHTTP(seen, r)
		pattern := r.Pattern
		if pattern == "" {
			pattern = "none"
		}
		m.requests.WithLabelValues(pattern, strconv.Itoa(seen.status)).Inc()
		m.seconds.WithLabelValues(pattern).Observe(time.Since(start).Seconds())
	})
}

type statusWriter struct {
	http.ResponseWriter
	status  int
	written bool
}

// WriteHeader notes the status on its way.
func (w *statusWriter) WriteHeader(status int) {
	if !w.written {
		w.status, w.written = status, true
	}
	w.ResponseWriter.WriteHeader(status)
}

// Unwrap lets http.ResponseController reach the connection.
func (w *statusWriter) Unwrap() http.ResponseWriter { return w.ResponseWriter }
