package web

import (
	"context"
	"encoding/json"
	"errors"
	"math"
	"net/http"
	"strconv"

	"ampleway/data/fault"
	"ampleway/route/question"
	"ampleway/route/stops"
	"ampleway/route/trip"

	"github.com/danielgtaylor/huma/v2"
)

// retryAfterS is when a client that was turned away may try again.
const retryAfterS = 2

// statusOf maps an error to an HTTP status, in one place for page and API.
func statusOf(err error) int {
	var input *fault.Input
	var tooLarge *http.MaxBytesError
	switch {
	case errors.As(err, &tooLarge):
		return http.StatusRequestEntityTooLarge
	case errors.Is(err, errForgotten):
		return http.StatusNotFound
	case errors.Is(err, stops.ErrNoPlan), errors.Is(err, stops.ErrGivenUp), errors.As(err, &input):
		return http.StatusUnprocessableEntity
	case errors.Is(err, errTooMany):
		return http.StatusTooManyRequests
	case errors.Is(err, errFull), errors.Is(err, errBodies), errors.Is(err, errSlow), errors.Is(err, context.Canceled):
		return http.StatusServiceUnavailable
	case errors.Is(err, errInternal):
		return http.StatusInternalServerError
	}
	return http.StatusBadRequest
}

func retryAfter(w http.ResponseWriter, status int) {
	if status == http.StatusTooManyRequests || status == http.StatusServiceUnavailable {
		w.Header().Set("Retry-After", strconv.Itoa(retryAfterS))
	}
}

// Problem is an error as RFC 9457 has it, with members of our own.
type Problem struct {
	Type   string `json:"type,omitempty" doc:"what kind of problem; absent where the status says all"`
	Title  string `json:"title" doc:"the kind in a few words"`
	Status int    `json:"status"`
	Detail string `json:"detail,omitempty" doc:"this problem, for people"`

	Errors []*huma.ErrorDetail `json:"errors,omitempty" doc:"of a body that does not fit its schema: where"`

	Field    string `json:"field,omitempty" doc:"of bad input: the field"`
	Found    string `json:"found,omitempty" doc:"of bad input: what stands there"`
	Expected string `json:"expected,omitempty" doc:"of bad input: what would have been right"`

	Drive      int             `json:"drive,omitempty" doc:"of several drives: the one that cannot be made, counted from 1"`
	From       string          `json:"from,omitempty" doc:"of a trip without a plan: where the stretch that cannot be crossed begins"`
	To         string          `json:"to,omitempty" doc:"and where it ends"`
	FromKM     *float64        `json:"from_km,omitempty"`
	ToKM       *float64        `json:"to_km,omitempty"`
	MissingKWh *float64        `json:"missing_kwh,omitempty" doc:"what the battery lacks for it"`
	Remedies   []ProblemRemedy `json:"remedies,omitempty" doc:"each alone would make the trip, or that drive of it, possible"`
	LeftOut    []ProblemReason `json:"left_out,omitempty" doc:"why stations on that stretch are not used"`
}

// ProblemReason is one reason why stations are not used.
type ProblemReason struct {
	Reason string        `json:"reason"`
	Sites  int           `json:"sites"`
	Plugs  []ProblemPlug `json:"plugs,omitempty" doc:"where no plug fits: those that may carry direct current"`
}

// ProblemPlug is how common a plug is that does not fit.
type ProblemPlug struct {
	Connector string `json:"connector" doc:"the trade name, or the source's own word"`
	Sites     int    `json:"sites"`
	Plugs     int    `json:"plugs"`
}

// ProblemRemedy is one change that would make a trip possible.
type ProblemRemedy struct {
	Text        string   `json:"text" doc:"for people"`
	LeavePct    *float64 `json:"leave_pct,omitempty" doc:"leave with at least this"`
	ReservePct  *float64 `json:"reserve_pct,omitempty" doc:"accept this reserve, everywhere"`
	SpeedCapKMH *float64 `json:"speed_cap_kmh,omitempty" doc:"drive no faster"`
	Connector   string   `json:"connector,omitempty" doc:"the car's inlet, if it is that"`
	HalfWidthKM *float64 `json:"half_width_km,omitempty" doc:"look for stations this far off the road"`
	StationKM   *float64 `json:"station_km,omitempty" doc:"one more station there"`
	AnyStops    bool     `json:"any_number_of_stops,omitempty" doc:"leave most_stops out"`
	StatePrice  bool     `json:"state_price,omitempty" doc:"state unknown_price_per_kwh"`
}

// Kinds of Problem.Type: references that stay the same, relative to the
// server.
const (
	typeNoPlan   = "/problems#no-plan"
	typeBadInput = "/problems#bad-input"
)

// Error makes a Problem an error.
func (p *Problem) Error() string { return p.Detail }

// GetStatus tells the API library the status.
func (p *Problem) GetStatus() int { return p.Status }

// ContentType is the media type of RFC 9457.
func (p *Problem) ContentType(string) string { return "application/problem+json" }

// newProblem puts an error into the form of RFC 9457.
func newProblem(err error) *Problem {
	p := &Problem{Status: statusOf(err), Detail: readable(err)}
	p.Title = http.StatusText(p.Status)
	var input *fault.Input
	switch {
	case errors.Is(err, stops.ErrNoPlan):
		p.Type, p.Title = typeNoPlan, "This trip cannot be planned"
		if none, told := errors.AsType[*trip.NoPlan](err); told {
			p.noPlan(none)
		}
	case errors.As(err, &input):
		p.Type, p.Title = typeBadInput, "Something in the request cannot be used"
		p.Field, p.Found, p.Expected = input.Field, input.Found, input.Expected
		if p.Field == "" {
			p.Field = input.File
		}
	}
	return p
}

func (p *Problem) noPlan(n *trip.NoPlan) {
	p.Drive, p.From, p.To = n.Drive, n.From, n.To
	p.FromKM, p.ToKM, p.MissingKWh = new(n.FromM/1000), new(n.ToM/1000), new(n.MissingKWh)
	for _, r := range n.Remedies {
		p.Remedies = append(p.Remedies, problemRemedy(r))
	}
	for _, l := range n.LeftOut {
		reason := ProblemReason{Reason: string(l.Why), Sites: l.Sites}
		for _, plug := range l.Plugs {
			reason.Plugs = append(reason.Plugs, ProblemPlug{string(plug.Type), plug.Sites, plug.Plugs})
		}
		p.LeftOut = append(p.LeftOut, reason)
	}
}

func problemRemedy(r trip.Remedy) ProblemRemedy {
	out := ProblemRemedy{Text: r.Text(question.Metric)}
	switch {
	case r.DepartSoC > 0:
		out.LeavePct = new(math.Ceil(100*r.DepartSoC - 1e-6))
	case r.Reserve:
		out.ReservePct = new(math.Floor(100*r.ReserveSoC + 1e-6))
	case r.SpeedCapMS > 0:
		out.SpeedCapKMH = new(3.6 * r.SpeedCapMS)
	case r.Inlet != "":
		out.Connector = string(r.Inlet)
	case r.HalfWidthM > 0:
		out.HalfWidthKM = new(r.HalfWidthM / 1000)
	case r.Station:
		out.StationKM = new(r.StationM / 1000)
	case r.Unlimited:
		out.AnyStops = true
	case r.Price:
		out.StatePrice = true
	}
	return out
}

// asProblem answers an API request with a Problem.
func asProblem(err error) error {
	p := newProblem(err)
	if p.Status == http.StatusTooManyRequests || p.Status == http.StatusServiceUnavailable {
		return huma.ErrorWithHeaders(p, http.Header{"Retry-After": {strconv.Itoa(retryAfterS)}})
	}
	return p
}

// refuseAPI answers an API request that is turned away before it is read.
func (s *Server) refuseAPI(w http.ResponseWriter, r *http.Request, err error) {
	p := newProblem(err)
	w.Header().Set("Content-Type", p.ContentType(""))
	w.Header().Set("Connection", "close")
	retryAfter(w, p.Status)
	w.WriteHeader(p.Status)
	text, err := json.Marshal(p)
	if err != nil {
		s.log.Error("problem", "error", err)
		return
	}
	s.write(w, r, text)
}

// problems explains the kinds of Problem.Type.
func (s *Server) problems(w http.ResponseWriter, r *http.Request) {
	w.Header().Set("Content-Type", "text/plain; charset=utf-8")
	s.write(w, r, []byte(`Kinds of problems that the API answers with (RFC 9457):

no-plan    The trip cannot be made as asked. "from" and "to" name the stretch
           that cannot be crossed, "missing_kwh" is what the battery lacks for
           it, and each of "remedies" alone would make the trip possible. Of
           several drives, all of this is about the one numbered "drive".
bad-input  Something in the request cannot be used: "field" names it, "found"
           is what stands there, "expected" what would have been right.
`))
}
