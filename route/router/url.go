package router

import (
	"context"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"net/url"
	"strconv"
	"strings"

	"github.com/paulmach/orb"

	"ampleway/data/fault"
	"ampleway/route/read"
)

// fields says where in a JSON answer the route stands.
type fields struct {
	line, duration []string // paths; empty where not named
	format         read.Format
	credit         string // not a path: the text itself
}

// useURL makes the router ask an HTTP service.
func (r *Router) useURL(template string) *fault.Input {
	address, fragment, _ := strings.Cut(template, "#")
	f, err := parseFields(fragment)
	if err != nil {
		return err
	}
	where, err := parseText(address)
	if err != nil {
		return err
	}
	if err := bothEnds(where); err != nil {
		return err
	}
	sample, parseErr := url.Parse(where.fill(orb.Point{1, 2}, orb.Point{3, 4}))
	if parseErr != nil || sample.Host == "" {
		return &fault.Input{Field: "URL", Found: address, Expected: "a URL such as http://localhost:8080/...", Err: parseErr}
	}
	r.name = sample.Scheme + "://" + sample.Host
	r.ask = func(ctx context.Context, from, to orb.Point) (answer, *fault.Input) {
		body, err := r.get(ctx, where.fill(from, to))
		if err != nil {
			return answer{}, err
		}
		return f.pick(body)
	}
	return nil
}

func parseFields(fragment string) (fields, *fault.Input) {
	var f fields
	if fragment == "" {
		return f, nil
	}
	values, err := url.ParseQuery(fragment)
	if err != nil {
		return f, &fault.Input{Field: "after #", Found: fragment, Expected: "line=PATH&format=FORMAT&duration_s=PATH", Err: err}
	}
	for key, list := range values {
		switch key {
		case "line":
			f.line = strings.Split(list[0], ".")
		case "duration_s":
			f.duration = strings.Split(list[0], ".")
		case "credit":
			f.credit = list[0]
		case "format":
			f.format = read.Format(list[0])
		default:
			return f, &fault.Input{Field: "after #", Found: key, Expected: "line, format, duration_s or credit"}
		}
	}
	switch f.format {
	case read.Detect, read.GPX, read.GeoJSON, read.Polyline5, read.Polyline6:
		return f, nil
	}
	return f, &fault.Input{Field: "format", Found: string(f.format), Expected: "gpx, geojson, polyline5 or polyline6"}
}

// get returns the body of a successful answer.
func (r *Router) get(ctx context.Context, address string) ([]byte, *fault.Input) {
	request, err := http.NewRequestWithContext(ctx, http.MethodGet, address, nil)
	if err != nil {
		return nil, &fault.Input{Field: "URL", Found: address, Expected: "a URL", Err: err}
	}
	request.Header.Set("User-Agent", "ampleway")
	response, err := r.options.Client.Do(request)
	if err != nil {
		return nil, &fault.Input{Expected: "an answer", Err: withoutAddress(err)}
	}
	defer response.Body.Close()
	body, err := io.ReadAll(io.LimitReader(response.Body, r.options.MaxBytes+1))
	switch {
	case err != nil:
		return nil, &fault.Input{Expected: "a complete answer", Err: err}
	case int64(len(body)) > r.options.MaxBytes:
		return nil, tooLarge(r.options.MaxBytes)
	case response.StatusCode != http.StatusOK:
		return nil, &fault.Input{Found: strings.TrimSpace(response.Status + " " + firstLine(body)), Expected: "200 OK with a route"}
	}
	return body, nil
}

// withoutAddress leaves the address out of an error, as the file name of the
// error names the service and an address may hold a key.
func withoutAddress(err error) error {
	if inner, ok := err.(*url.Error); ok {
		return inner.Err
	}
	return err
}

func firstLine(body []byte) string {
	line, _, _ := strings.Cut(strings.TrimSpace(string(body)), "\n")
	return line
}

func sizeText(bytes int64) string {
	if bytes >= 1<<20 {
		return fmt.Sprintf("%d MB", bytes>>20)
	}
	return fmt.Sprintf("%d bytes", bytes)
}

// pick takes the named fields out of an answer.
func (f fields) pick(body []byte) (answer, *fault.Input) {
	a := answer{content: body, format: f.format, credit: f.credit}
	if len(f.line) > 0 {
		line, err := at(body, f.line)
		if err != nil {
			return a, err
		}
		a.content = line
		var encoded string
		if json.Unmarshal(line, &encoded) == nil {
			a.content = []byte(encoded)
		}
	}
	if len(f.duration) > 0 {
		raw, err := at(body, f.duration)
		if err != nil {
			return a, err
		}
		if json.Unmarshal(raw, &a.durationS) != nil || !(a.durationS > 0) {
			return a, &fault.Input{Field: strings.Join(f.duration, "."), Found: string(raw), Expected: "the driving time, a number of seconds"}
		}
	}
	return a, nil
}

// at follows a path into a JSON value.
func at(value json.RawMessage, path []string) (json.RawMessage, *fault.Input) {
	for i, step := range path {
		var member json.RawMessage
		var object map[string]json.RawMessage
		var list []json.RawMessage
		if json.Unmarshal(value, &object) == nil {
			member = object[step]
		} else if n, err := strconv.Atoi(step); err == nil && json.Unmarshal(value, &list) == nil && n >= 0 && n < len(list) {
			member = list[n]
		}
		if member == nil {
			return nil, &fault.Input{Field: strings.Join(path[:i+1], "."), Found: "no such field in " + firstLine(value), Expected: "the field named in the router template"}
		}
		value = member
	}
	return value, nil
}
