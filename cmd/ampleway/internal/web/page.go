package web

import (
	"bytes"
	"context"
	"embed"
	"errors"
	"fmt"
	"html/template"
	"net/http"
	"net/url"
	"slices"
	"strings"

	"ampleway/cmd/ampleway/internal/answer"
	"ampleway/cmd/ampleway/internal/chart"
	"ampleway/data/fault"
	"ampleway/route/stops"
	"ampleway/route/trip"
)

//go:embed page.html result.html page.css page.js icon.svg
var assets embed.FS

func asset(name string) []byte {
	content, err := assets.ReadFile(name)
	if err != nil {
		panic("web: " + err.Error())
	}
	return content
}

func parsePage() *template.Template {
	return template.Must(answer.Templates().Funcs(template.FuncMap{"label": answer.Label}).ParseFS(assets, "page.html", "result.html"))
}

// pageView is all that the page shows.
type pageView struct {
	Form   formView
	Result resultView
	About  string
}

// resultView is the part of the page that changes with every question.
type resultView struct {
	Title  string
	Answer *answer.Answer
	Plan   bool // it is one, to be kept and handed over
	Brief  bool // what takes longer is left out

	Link     string // the address of this plan
	LinkNote string // how long it will work
	Query    string
	Extras   []checkView
}

// To is the address of something else about the same question.
func (v resultView) To(path string) string { return path + "?" + v.Query }

// Files are the formats of a plan, but for the sheet.
func (resultView) Files() []string {
	return slices.DeleteFunc(answer.Formats(answer.Journey{}), func(format string) bool { return format == sheetFormat })
}

const sheetFormat = "html"

// page serves the whole page. What takes longer to work out is left to the
// script, or to a link that asks for it.
func (s *Server) page(w http.ResponseWriter, r *http.Request) {
	ask, parseErr := ParseAsk(r.URL.Query(), s.config.Start)
	result, status := s.result(r.Context(), ask, parseErr, depth(r.URL.Query().Has("further")))
	s.render(w, r, status, "page", pageView{Form: s.form(ask), Result: result, About: s.config.About})
}

// fragment serves the part that changes: quickly at /plan, and at /further with
// what to do, and what happens, when things go otherwise.
func (s *Server) fragment(w http.ResponseWriter, r *http.Request) {
	ask, parseErr := ParseAsk(r.URL.Query(), s.config.Start)
	result, status := s.result(r.Context(), ask, parseErr, depth(r.URL.Path == "/further"))
	s.render(w, r, status, "fragment", result)
}

// render writes a template as a whole or not at all.
func (s *Server) render(w http.ResponseWriter, r *http.Request, status int, name string, data any) {
	var b bytes.Buffer
	if err := s.templates.ExecuteTemplate(&b, name, data); err != nil {
		s.log.Error("template", "name", name, "error", err)
		http.Error(w, errInternal.Error(), http.StatusInternalServerError)
		return
	}
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	w.Header().Set("Cache-Control", "no-store")
	retryAfter(w, status)
	w.WriteHeader(status)
	s.write(w, r, b.Bytes())
}

// result plans and says what came of it, with the status of the answer.
func (s *Server) result(ctx context.Context, ask Ask, err error, depth depth) (resultView, int) {
	v := resultView{Query: ask.Query().Encode(), Extras: s.extras(ask), Brief: depth == brief}
	v.Link = "/?" + v.Query
	say := func(a *answer.Answer) { v.Answer, v.Title = a.For(answer.OnScreen), a.Number }
	if ask.Route == "" && err == nil {
		say(&answer.Answer{Number: "Drop a route", Rest: "A GPX track, a GeoJSON line or an encoded polyline: drop the file on this page, or choose it in the form."})
		return v, http.StatusOK
	}
	var p planned
	if err == nil {
		p, err = s.plan(ctx, ask, depth)
	}
	if err != nil {
		say(s.problem(ask, err))
		return v, statusOf(err)
	}
	say(p.Tree(answer.Options{Units: ask.units(), Note: p.note, TileURL: s.config.Tiles.URL, Credit: s.config.Tiles.Credit}))
	v.Plan, v.LinkNote = true, linkNote(ask.Route)
	return v, http.StatusOK
}

// linkNote says how long an address works.
func linkNote(route string) string {
	switch {
	case strings.HasPrefix(route, filePrefix):
		return "The address holds all but the route file itself. It works until this server is restarted or has been given many other files; drop the same file again and it works as before."
	case strings.HasPrefix(route, linePrefix):
		return "The address holds everything, the route included."
	}
	return "The address holds everything; the route and the stations are those this server was started with."
}

// problem puts an error into words for the page.
func (s *Server) problem(ask Ask, err error) *answer.Answer {
	var none *trip.NoPlan
	if errors.As(err, &none) {
		return s.noPlan(ask, none)
	}
	a := &answer.Answer{Number: "No plan this time", Rest: sentence(err.Error())}
	var input *fault.Input
	switch {
	case errors.Is(err, stops.ErrNoPlan):
		a.Number = "This trip cannot be made as asked"
	case errors.As(err, &input):
		a.Number, a.Rest = "One thing in the form needs another look", inForm(input)
	case errors.Is(err, errForgotten):
		a.Number = "The route file is gone"
	}
	return a
}

// inForm names a field as the form does.
func inForm(e *fault.Input) string {
	if label := labelOf(e.Field); label != "" {
		return fmt.Sprintf("%s (%s): found %s; expected %s.", label, e.Field, e.Found, e.Expected)
	}
	return sentence(e.Error())
}

// noPlan says why there is none; each remedy leads to the same question with it
// taken.
func (s *Server) noPlan(ask Ask, n *trip.NoPlan) *answer.Answer {
	a := answer.NoPlan(n, ask.units(), func(r trip.Remedy) string {
		changed := ask
		if !r.Change(&changed.Question) {
			return ""
		}
		return "/?" + changed.Query().Encode()
	})
	if n.FromCharger == nil && n.ToCharger == nil && len(n.LeftOut) == 0 && n.Stop == nil {
		a.About = append(a.About, "No station of this server lies along that stretch. Its stations: "+s.config.About+".")
	}
	return a
}

func sentence(text string) string {
	if text == "" {
		return text
	}
	text = strings.ToUpper(text[:1]) + text[1:]
	if !strings.HasSuffix(text, ".") {
		text += "."
	}
	return text
}

// sheet serves the sheet to print.
func (s *Server) sheet(w http.ResponseWriter, r *http.Request) { s.written(w, r, sheetFormat) }

// file serves a journey in one of the formats of answers.
func (s *Server) file(w http.ResponseWriter, r *http.Request) {
	s.written(w, r, r.PathValue("format"))
}

func (s *Server) written(w http.ResponseWriter, r *http.Request, format string) {
	if err := answer.Known(answer.Journey{}, format); err != nil {
		s.plainProblem(w, r, http.StatusNotFound, err)
		return
	}
	ask, err := ParseAsk(r.URL.Query(), s.config.Start)
	if err != nil {
		s.plainProblem(w, r, statusOf(err), err)
		return
	}
	p, err := s.plan(r.Context(), ask, full)
	if err != nil {
		s.plainProblem(w, r, statusOf(err), err)
		return
	}
	var b bytes.Buffer
	if err := answer.Write(&b, format, p.Journey, answer.Options{Units: ask.units(), Note: p.note}); err != nil {
		s.log.Error("write", "format", format, "error", err)
		s.plainProblem(w, r, http.StatusInternalServerError, errInternal)
		return
	}
	w.Header().Set("Content-Type", answer.MediaType(format))
	w.Header().Set("Cache-Control", "no-store")
	if format == sheetFormat {
		w.Header().Set("Content-Security-Policy", s.sheetPolicy)
	} else {
		w.Header().Set("Content-Disposition", fmt.Sprintf(`attachment; filename="journey.%s"`, strings.Replace(format, "text", "txt", 1)))
	}
	s.write(w, r, b.Bytes())
}

// plainProblem answers a person who followed a link with a plain sentence.
func (s *Server) plainProblem(w http.ResponseWriter, r *http.Request, status int, err error) {
	w.Header().Set("Content-Type", "text/plain; charset=utf-8")
	retryAfter(w, status)
	w.WriteHeader(status)
	s.write(w, r, []byte(sentence(err.Error())+"\n"))
}

func (s *Server) write(w http.ResponseWriter, r *http.Request, content []byte) {
	if r.Method == http.MethodHead {
		return
	}
	if _, err := w.Write(content); err != nil {
		s.log.Debug("client left", "error", err)
	}
}

// style serves the page's style sheet with that of the drawings.
func (s *Server) style(w http.ResponseWriter, r *http.Request) {
	w.Header().Set("Content-Type", "text/css; charset=utf-8")
	w.Header().Set("Cache-Control", "no-cache")
	s.write(w, r, append(asset("page.css"), chart.CSS...))
}

func (s *Server) script(w http.ResponseWriter, r *http.Request) {
	w.Header().Set("Content-Type", "text/javascript; charset=utf-8")
	w.Header().Set("Cache-Control", "no-cache")
	s.write(w, r, asset("page.js"))
}

func (s *Server) icon(w http.ResponseWriter, r *http.Request) {
	w.Header().Set("Content-Type", "image/svg+xml")
	w.Header().Set("Cache-Control", "max-age=86400")
	s.write(w, r, asset("icon.svg"))
}

// redirectTo sends a browser on to a question.
func redirectTo(w http.ResponseWriter, r *http.Request, q url.Values) {
	http.Redirect(w, r, "/?"+q.Encode(), http.StatusSeeOther)
}
