package web

import (
	"bytes"
	"errors"
	"io"
	"net/http"
	"net/url"
	"path/filepath"
	"strings"

	"ampleway/cmd/ampleway/internal/answer"
	"ampleway/data/fault"
	"ampleway/route"
	"ampleway/route/read"
)

var errBodies = errors.New("the server is reading as many files as it can; try again shortly")

// drop takes a route file from the form or the script and sends the browser
// on to its plan.
func (s *Server) drop(w http.ResponseWriter, r *http.Request) {
	name, content, query, err := s.dropped(w, r)
	if err != nil {
		s.refuse(w, r, err)
		return
	}
	dropped, err := read.Read(bytes.NewReader(content), name, read.Options{MaxBytes: s.limits.BodyBytes, MaxPoints: s.limits.RoutePoints})
	if err != nil {
		s.refuse(w, r, err)
		return
	}
	ask, err := ParseAsk(query, s.config.Start)
	if err != nil {
		s.refuse(w, r, err)
		return
	}
	ask.Reverse, ask.RouteName = false, ""
	s.name(&ask, content, dropped)
	redirectTo(w, r, ask.Query())
}

// name puts a dropped route into a question: whole if it is small, else by the
// name under which it is kept.
func (s *Server) name(ask *Ask, content []byte, r *route.Route) {
	if line, ok := asLine(r); ok {
		ask.Route, ask.RouteName = line, r.Name
		return
	}
	ask.Route = s.store.put(content, r)
}

// dropped reads the file and the rest of the form from a request.
func (s *Server) dropped(w http.ResponseWriter, r *http.Request) (name string, content []byte, query url.Values, err error) {
	r.Body = http.MaxBytesReader(w, r.Body, s.limits.BodyBytes)
	parts, err := r.MultipartReader()
	if err != nil {
		return "", nil, nil, &fault.Input{Field: "file", Expected: "a form with a route file", Err: err}
	}
	for {
		part, err := parts.NextPart()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return "", nil, nil, err
		}
		switch part.FormName() {
		case "file":
			name = filepath.Base(strings.ReplaceAll(part.FileName(), `\`, "/"))
			content, err = io.ReadAll(part)
		case "query":
			var text []byte
			if text, err = io.ReadAll(io.LimitReader(part, 16<<10)); err == nil {
				query, err = url.ParseQuery(string(text))
			}
		}
		if err != nil {
			return "", nil, nil, err
		}
	}
	if len(content) == 0 {
		return "", nil, nil, &fault.Input{File: name, Expected: "a route file: GPX, GeoJSON or an encoded polyline"}
	}
	return name, content, query, nil
}

// refuse says why a file was not taken, on a page of its own: it works the
// same with and without the script.
func (s *Server) refuse(w http.ResponseWriter, r *http.Request, err error) {
	const refused = "That file cannot be used"
	s.metrics.refused.Inc()
	status := statusOf(err)
	s.render(w, r, status, "page", pageView{
		Form:   s.form(s.config.Start),
		Result: resultView{Title: refused, Answer: &answer.Answer{Number: refused, Rest: sentence(readable(err))}},
		About:  s.config.About,
	})
}

// readable replaces what the HTTP library says about sizes.
func readable(err error) string {
	var tooLarge *http.MaxBytesError
	if errors.As(err, &tooLarge) {
		return "the file is too large for this server"
	}
	return err.Error()
}
