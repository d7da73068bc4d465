package web

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"net/http"
	"slices"
	"time"

	"ampleway/cmd/ampleway/internal/answer"
	"ampleway/data/fault"
	"ampleway/energy"
	"ampleway/route"
	"ampleway/route/question"
	"ampleway/route/read"

	"github.com/danielgtaylor/huma/v2"
	"github.com/danielgtaylor/huma/v2/adapters/humago"
)

const apiVersion = "1"

// JourneyQuestion is the body of POST /api/journey: a route in one of three
// forms, a car in one of two, and what is asked.
type JourneyQuestion struct {
	Route        string    `json:"route,omitempty" doc:"name of a route of this server (GET /api/routes)"`
	RouteText    string    `json:"route_text,omitempty" doc:"the route itself as GPX, GeoJSON or an encoded polyline of precision 5 or 6; told from the content"`
	RouteGeoJSON rawObject `json:"route_geojson,omitempty" doc:"the route itself as a GeoJSON object: a LineString or MultiLineString, bare or in a Feature or FeatureCollection"`
	Car          string    `json:"car,omitempty" doc:"name of a car of this server (GET /api/cars)"`
	CarSpec      rawObject `json:"car_spec,omitempty" doc:"the car itself, with the keys of a car file"`
	Reverse      bool      `json:"reverse,omitempty" doc:"drive the route the other way"`
	Brief        bool      `json:"brief,omitempty" doc:"only the plan, quickly: no leave rules, fallbacks, risk, hard days and choices"`
	Request      *request  `json:"request,omitempty" doc:"what is asked; what is left out has its default"`
}

type journeyInput struct{ Body JourneyQuestion }

type journeyOutput struct{ Body journeyBody }

// rawObject is a JSON object that another package reads.
type rawObject []byte

// UnmarshalJSON keeps the object as it is.
func (o *rawObject) UnmarshalJSON(text []byte) error {
	*o = bytes.Clone(text)
	return nil
}

// Schema says that any object will do.
func (rawObject) Schema(huma.Registry) *huma.Schema {
	return &huma.Schema{Type: huma.TypeObject, AdditionalProperties: true}
}

// request is a question.Question of which every key may be left out.
type request struct{ question.Question }

// UnmarshalJSON starts from the defaults.
func (r *request) UnmarshalJSON(text []byte) error {
	r.Question = question.New()
	return json.Unmarshal(text, &r.Question)
}

// Schema has a property for every row of the question.
func (request) Schema(huma.Registry) *huma.Schema {
	s := &huma.Schema{Type: huma.TypeObject, Properties: map[string]*huma.Schema{}, AdditionalProperties: false}
	// Only types are held by the schema. Ranges and choices are told by it and
	// held by Question.Check, whose errors name the key, what was found and what
	// was expected.
	for _, r := range question.Rows() {
		told := r.Schema()
		p := &huma.Schema{Type: told["type"].(string), Extensions: told}
		delete(told, "type")
		if told["items"] != nil {
			p.Items = &huma.Schema{Type: huma.TypeString}
			delete(told, "items")
		}
		s.Properties[r.Key] = p
	}
	s.PrecomputeMessages()
	return s
}

type namedRoute struct {
	Name       string  `json:"name" doc:"for the key route of POST /api/journey"`
	Title      string  `json:"title"`
	DistanceKM float64 `json:"distance_km"`
	Elevation  bool    `json:"elevation" doc:"whether heights are known"`
	Note       string  `json:"note,omitempty"`
}

type namedCar struct {
	Name       string   `json:"name" doc:"for the key car of POST /api/journey"`
	Title      string   `json:"title"`
	UsableKWh  float64  `json:"usable_kwh"`
	PeakKW     float64  `json:"peak_kw" doc:"most power at a fast charger"`
	Connectors []string `json:"connectors"`
	Extras     []string `json:"extras" doc:"what it may carry or tow"`
	Note       string   `json:"note,omitempty"`
}

type routesOutput struct{ Body []namedRoute }
type carsOutput struct{ Body []namedCar }

// newAPI puts the operations on a mux and returns their description.
func (s *Server) newAPI(mux *http.ServeMux) ([]byte, error) {
	c := huma.DefaultConfig("ampleway", apiVersion)
	c.Info.Description = "Plan the fast-charge stops of a road trip. Figures are estimates: check that a station works before relying on it, and never drive on below the reserve hoping."
	c.OpenAPIPath, c.DocsPath, c.SchemasPath = "", "", ""
	c.CreateHooks = nil
	api := humago.New(mux, c)
	refusals := []int{http.StatusBadRequest, http.StatusRequestEntityTooLarge, http.StatusUnprocessableEntity, http.StatusTooManyRequests, http.StatusInternalServerError, http.StatusServiceUnavailable}
	huma.Register(api, huma.Operation{
		OperationID: "planJourney", Method: http.MethodPost, Path: "/api/journey", Summary: "Plan one journey",
		Description: "The same planning code as the command line. With back in the request, out, a stay, and back on the same road are planned as one: a stop on the way out may charge for the way back. A journey that cannot be made is a 422 of type " + typeNoPlan + ".",
		Errors:      refusals, MaxBodyBytes: s.limits.BodyBytes, BodyReadTimeout: 15 * time.Second,
	}, s.apiJourney)
	huma.Register(api, huma.Operation{
		OperationID: "listRoutes", Method: http.MethodGet, Path: "/api/routes", Summary: "The routes this server knows",
	}, s.apiRoutes)
	huma.Register(api, huma.Operation{
		OperationID: "listCars", Method: http.MethodGet, Path: "/api/cars", Summary: "The cars this server knows",
	}, s.apiCars)
	return json.MarshalIndent(api.OpenAPI(), "", "  ")
}

func (s *Server) apiJourney(ctx context.Context, in *journeyInput) (*journeyOutput, error) {
	q := &in.Body
	read := func() (in inputs, err error) {
		if in.route, in.note, err = s.apiRoute(q); err == nil {
			in.car, err = s.apiCar(q)
		}
		return in, err
	}
	ask := question.New()
	if q.Request != nil {
		ask = q.Request.Question
	}
	p, err := s.compute(ctx, asked{read: read, reverse: q.Reverse, ask: ask, depth: depth(!q.Brief)})
	if err != nil {
		return nil, asProblem(err)
	}
	document := answer.NewDocument(p.Journey, answer.Options{Note: p.note})
	return &journeyOutput{journeyBody{document}}, whole(document)
}

// whole reports, before a status is sent, a document that cannot be written.
func whole(document any) error {
	if _, err := json.Marshal(document); err != nil {
		return asProblem(fmt.Errorf("%w: %w", errInternal, err))
	}
	return nil
}

func (s *Server) apiRoute(q *JourneyQuestion) (*route.Route, string, error) {
	given := 0
	for _, has := range []bool{q.Route != "", q.RouteText != "", len(q.RouteGeoJSON) > 0} {
		if has {
			given++
		}
	}
	if given != 1 {
		return nil, "", &fault.Input{Field: "route", Found: fmt.Sprintf("%d routes", given), Expected: "one of route, route_text and route_geojson"}
	}
	if q.Route != "" {
		return s.route(Ask{Route: q.Route})
	}
	text := []byte(q.RouteText)
	if len(q.RouteGeoJSON) > 0 {
		text = q.RouteGeoJSON
	}
	r, err := read.Read(bytes.NewReader(text), "route", read.Options{MaxBytes: s.limits.BodyBytes, MaxPoints: s.limits.RoutePoints})
	return r, "", err
}

func (s *Server) apiCar(q *JourneyQuestion) (*energy.Car, error) {
	switch {
	case (q.Car != "") == (len(q.CarSpec) > 0):
		return nil, &fault.Input{Field: "car", Expected: "one of car and car_spec"}
	case q.Car != "":
		return s.car(q.Car)
	}
	return energy.ReadCar(bytes.NewReader(q.CarSpec), "car_spec")
}

func (s *Server) apiRoutes(context.Context, *struct{}) (*routesOutput, error) {
	out := &routesOutput{Body: []namedRoute{}}
	for _, r := range s.config.Routes {
		out.Body = append(out.Body, namedRoute{r.ID, r.Route.Name, r.Route.LengthM() / 1000, r.Route.HasElevation(), r.Note})
	}
	return out, nil
}

func (s *Server) apiCars(context.Context, *struct{}) (*carsOutput, error) {
	out := &carsOutput{Body: []namedCar{}}
	for _, c := range s.config.Cars {
		car := namedCar{Name: c.ID, Title: c.Car.Name, UsableKWh: c.Car.UsableKWh, PeakKW: c.Car.Taper.PeakKW(), Connectors: slices.Clone(c.Car.Connectors), Extras: []string{}, Note: c.Car.Note}
		for _, e := range c.Car.Extras {
			car.Extras = append(car.Extras, e.Name)
		}
		out.Body = append(out.Body, car)
	}
	return out, nil
}
