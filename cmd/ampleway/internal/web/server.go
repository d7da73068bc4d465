package web

import (
	"context"
	"crypto/sha256"
	"encoding/base64"
	"errors"
	"fmt"
	"html/template"
	"log/slog"
	"net"
	"net/http"
	"net/netip"
	"runtime/debug"
	"strings"
	"time"

	"ampleway/cmd/ampleway/internal/answer"

	"golang.org/x/sync/semaphore"
)

// bodyBudget is how many of the largest bodies may be in memory at once.
const bodyBudget = 4

// Server answers requests. It is safe for concurrent use.
type Server struct {
	config      Config
	limits      Limits
	log         *slog.Logger
	store       *store
	gate        *gate
	bodies      *semaphore.Weighted // bytes
	metrics     *metrics
	templates   *template.Template
	pagePolicy  string
	sheetPolicy string
	openAPI     []byte
	handler     http.Handler
}

// New makes a server. The error is a *fault.Input about the configuration.
func New(c Config) (*Server, error) {
	if err := c.Tiles.Validate(); err != nil {
		return nil, err
	}
	limits := c.Limits.withDefaults()
	s := &Server{
		config: c, limits: limits, log: c.Log,
		store:     newStore(limits.Kept, limits.KeptPoints),
		gate:      newGate(limits),
		bodies:    semaphore.NewWeighted(bodyBudget * limits.BodyBytes),
		templates: parsePage(),
	}
	if s.log == nil {
		s.log = slog.New(slog.DiscardHandler)
	}
	s.metrics = newMetrics(s.store.len, func() int { return len(s.gate.running) })
	s.pagePolicy = policy("'self'", "'self'", "'self' "+c.Tiles.origin())
	sum := sha256.Sum256([]byte(answer.SheetCSS()))
	s.sheetPolicy = policy("'none'", "'sha256-"+base64.StdEncoding.EncodeToString(sum[:])+"'", "'none'")
	return s, s.routes()
}

// policy is a content security policy that forbids every host but the ones
// named.
func policy(scripts, styles, images string) string {
	return "default-src 'none'; script-src " + scripts + "; style-src " + styles + "; img-src " + images +
		"; connect-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
}

func (s *Server) routes() error {
	mux := http.NewServeMux()
	mux.HandleFunc("GET /{$}", s.page)
	mux.HandleFunc("GET /plan", s.fragment)
	mux.HandleFunc("GET /further", s.fragment)
	mux.HandleFunc("GET /sheet", s.sheet)
	mux.HandleFunc("GET /journey/{format}", s.file)
	mux.Handle("POST /routes", s.budgeted(http.HandlerFunc(s.drop), s.refuse))
	mux.HandleFunc("GET /page.css", s.style)
	mux.HandleFunc("GET /page.js", s.script)
	mux.HandleFunc("GET /icon.svg", s.icon)
	mux.HandleFunc("GET /favicon.ico", s.icon)
	mux.HandleFunc("GET /problems", s.problems)
	mux.HandleFunc("GET /openapi.json", s.describe)
	mux.HandleFunc("GET /healthz", s.healthy)
	mux.HandleFunc("GET /readyz", s.ready)
	mux.Handle("GET /metrics", s.metrics.handler())
	api := http.NewServeMux()
	openAPI, err := s.newAPI(api)
	if err != nil {
		return err
	}
	s.openAPI = openAPI
	mux.Handle("/api/", s.budgeted(api, s.refuseAPI))
	s.handler = s.safe(s.ownHost(http.NewCrossOriginProtection().Handler(withClient(s.metrics.watch(mux)))))
	return nil
}

// ServeHTTP answers a request.
func (s *Server) ServeHTTP(w http.ResponseWriter, r *http.Request) { s.handler.ServeHTTP(w, r) }

// safe sets the headers that every answer has and outlives a fault of ours.
func (s *Server) safe(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		h := w.Header()
		h.Set("Content-Security-Policy", s.pagePolicy)
		h.Set("X-Content-Type-Options", "nosniff")
		h.Set("Referrer-Policy", "no-referrer")
		h.Set("Cross-Origin-Opener-Policy", "same-origin")
		defer func() {
			fault := recover()
			if fault == nil || fault == http.ErrAbortHandler {
				return
			}
			s.log.Error("request", "path", r.URL.Path, "panic", fmt.Sprint(fault), "stack", string(debug.Stack()))
			http.Error(w, errInternal.Error(), http.StatusInternalServerError)
		}()
		next.ServeHTTP(w, r)
	})
}

// ownHost refuses names that are not this machine's, where the server is for
// this machine alone: another site's page could otherwise point a name of its
// own here and read what it gets.
func (s *Server) ownHost(next http.Handler) http.Handler {
	if !s.config.LoopbackOnly {
		return next
	}
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if !loopback(r.Host) {
			s.plainProblem(w, r, http.StatusMisdirectedRequest, errNotHere)
			return
		}
		next.ServeHTTP(w, r)
	})
}

// loopback reports whether a host, with or without a port, is this machine.
func loopback(host string) bool {
	if name, _, err := net.SplitHostPort(host); err == nil {
		host = name
	}
	ip, err := netip.ParseAddr(strings.Trim(host, "[]"))
	return strings.EqualFold(host, "localhost") || (err == nil && ip.IsLoopback())
}

// budgeted turns bodies away that are too large, or too many at once.
func (s *Server) budgeted(next http.Handler, refuse func(http.ResponseWriter, *http.Request, error)) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		size := r.ContentLength
		if size > s.limits.BodyBytes {
			refuse(w, r, &http.MaxBytesError{Limit: s.limits.BodyBytes})
			return
		}
		if size < 0 {
			size = s.limits.BodyBytes
		}
		if !s.bodies.TryAcquire(size) {
			refuse(w, r, errBodies)
			return
		}
		defer s.bodies.Release(size)
		next.ServeHTTP(w, r)
	})
}

func (s *Server) describe(w http.ResponseWriter, r *http.Request) {
	w.Header().Set("Content-Type", "application/vnd.oai.openapi+json;version=3.1")
	s.write(w, r, s.openAPI)
}

// healthy says that the process answers; ready that it has what it plans with,
// and room to plan.
func (s *Server) healthy(w http.ResponseWriter, r *http.Request) { s.write(w, r, []byte("ok\n")) }

func (s *Server) ready(w http.ResponseWriter, r *http.Request) {
	if len(s.gate.inside) == cap(s.gate.inside) {
		s.plainProblem(w, r, http.StatusServiceUnavailable, errFull)
		return
	}
	s.write(w, r, fmt.Appendf(nil, "ready: %d stations, %d routes, %d cars\n", s.config.Stations.Len(), len(s.config.Routes), len(s.config.Cars)))
}

// Times that a connection is given.
const (
	headerTime   = 5 * time.Second
	readTime     = 20 * time.Second
	writeTime    = 40 * time.Second
	idleTime     = 60 * time.Second
	stopTime     = 10 * time.Second
	mostHeaderKB = 64
)

// Serve answers on a listener until ctx ends, then finishes what it has begun.
func (s *Server) Serve(ctx context.Context, l net.Listener) error {
	server := &http.Server{
		Handler:           s,
		ReadHeaderTimeout: headerTime, ReadTimeout: readTime, WriteTimeout: writeTime, IdleTimeout: idleTime,
		MaxHeaderBytes: mostHeaderKB << 10,
		ErrorLog:       slog.NewLogLogger(s.log.Handler(), slog.LevelWarn),
	}
	failed := make(chan error, 1)
	go func() { failed <- server.Serve(l) }()
	select {
	case err := <-failed:
		return err
	case <-ctx.Done():
	}
	stopping, cancel := context.WithTimeout(context.WithoutCancel(ctx), stopTime)
	defer cancel()
	err := server.Shutdown(stopping)
	if serveErr := <-failed; !errors.Is(serveErr, http.ErrServerClosed) {
		err = errors.Join(err, serveErr)
	}
	return err
}
