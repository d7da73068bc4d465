package stations

import (
	"slices"
	"strings"
)

// Filter says which sites a driver is willing to use. The zero value takes
// sites that are public (or say nothing), not planned, closed or out of order,
// and have at least one stall.
type Filter struct {
	Accepts       []ConnectorType // inlets of the car; empty = any connector will do
	Adapters      []Adapter       // adapters on board
	DCOnly        bool            // direct current only
	MinPowerKW    float64         // for one stall while nobody shares it
	MinStalls     int             // stalls of the best offer or better than MinPowerKW
	Customers     bool            // also sites for customers or by arrangement
	RejectAssumed bool            // no power that was filled in from a default
	Only          []string        // operators or networks to use; empty = all
	Avoid         []string        // operators, networks or site IDs not to use
}

// Verdict is why a filter refuses a site; the empty verdict takes it.
type Verdict string

// The verdicts, in the order they are tested.
const (
	Taken         Verdict = ""
	NotPublic     Verdict = "not open to the public"
	NotBuilt      Verdict = "planned, not built"
	OutOfService  Verdict = "closed or out of order"
	Avoided       Verdict = "operator or site to avoid"
	OtherOperator Verdict = "another operator or network"
	NoBays        Verdict = "no bay or plug in the data"
	NoneWorking   Verdict = "every bay planned, closed or out of order"
	OnlyAC        Verdict = "alternating current only"
	NoConnector   Verdict = "no plug that fits"
	PowerUnknown  Verdict = "no power in the data for the plug that fits"
	PowerAssumed  Verdict = "power is assumed, not published"
	TooWeak       Verdict = "too little power"
	TooFewStalls  Verdict = "too few bays"
)

// Judge returns the first reason against a site, or Taken and what the car can
// use there. With no Accepts every connector counts as fitting.
func (f Filter) Judge(s *Site) (Offer, Verdict) {
	if v := f.judgeRecord(s); v != Taken {
		return Offer{}, v
	}
	return f.judgeStalls(s)
}

func (f Filter) judgeRecord(s *Site) Verdict {
	switch {
	case s.Access == AccessCustomers && !f.Customers, s.Access == AccessPrivate:
		return NotPublic
	case s.Status == StatusPlanned:
		return NotBuilt
	case s.Status == StatusClosed, s.Status == StatusOutOfOrder:
		return OutOfService
	case matches(f.Avoid, s.Operator, s.Network, s.ID):
		return Avoided
	case len(f.Only) > 0 && !matches(f.Only, s.Operator, s.Network):
		return OtherOperator
	}
	return Taken
}

func (f Filter) judgeStalls(s *Site) (Offer, Verdict) {
	accepts := f.Accepts
	if len(accepts) == 0 {
		accepts = everyConnector(s)
	}
	offers := s.Offers(accepts, f.Adapters...)
	var refused Verdict
	stalls := 0
	var best Offer
	for _, o := range offers {
		switch {
		case f.DCOnly && !o.DC:
		case f.RejectAssumed && o.Assumed:
			refused = PowerAssumed
		case o.PowerKW < f.MinPowerKW:
			refused = TooWeak
		default:
			if stalls == 0 {
				best = o
			}
			stalls += o.Stalls
		}
	}
	switch {
	case stalls == 0 && refused == "":
		return Offer{}, f.noOffer(s, accepts)
	case stalls == 0:
		return Offer{}, refused
	case stalls < f.MinStalls:
		return Offer{}, TooFewStalls
	}
	return best, Taken
}

// noOffer is why a site has nothing that the car can use.
func (f Filter) noOffer(s *Site, accepts []ConnectorType) Verdict {
	plugs, working, usable := 0, 0, 0
	for _, stall := range s.Stalls {
		plugs += len(stall.Connectors)
		if !stall.Status.working() {
			continue
		}
		working += len(stall.Connectors)
		for _, c := range stall.Connectors {
			if f.DCOnly && !c.mayBeDC() {
				continue
			}
			usable++
			if _, fits := fit(c, accepts, f.Adapters); fits {
				return PowerUnknown
			}
		}
	}
	switch {
	case plugs == 0:
		return NoBays
	case working == 0:
		return NoneWorking
	case usable == 0:
		return OnlyAC
	}
	return NoConnector
}

// mayBeDC reports whether a plug carries direct current or has a name that
// does not tell.
func (c *Connector) mayBeDC() bool { return c.DC || !c.Type.Known() }

// Misfits are the plugs of a site's working stalls that carry direct current,
// or have a name that does not tell, and do not fit the car, each once.
func (f Filter) Misfits(s *Site) []ConnectorType {
	var out []ConnectorType
	for _, stall := range s.Stalls {
		if !stall.Status.working() {
			continue
		}
		for _, c := range stall.Connectors {
			_, fits := fit(c, f.Accepts, f.Adapters)
			if c.mayBeDC() && !fits && !slices.Contains(out, c.Type) {
				out = append(out, c.Type)
			}
		}
	}
	return out
}

func everyConnector(s *Site) []ConnectorType {
	var all []ConnectorType
	for _, stall := range s.Stalls {
		for _, c := range stall.Connectors {
			if !slices.Contains(all, c.Type) {
				all = append(all, c.Type)
			}
		}
	}
	return all
}

// Goes reports whether a word is a site's operator or network, without regard
// to case.
func (s *Site) Goes(word string) bool { return matches([]string{word}, s.Operator, s.Network) }

// matches reports whether any word equals any text, without regard to case.
func matches(words []string, texts ...string) bool {
	for _, w := range words {
		for _, t := range texts {
			if t != "" && strings.EqualFold(w, t) {
				return true
			}
		}
	}
	return false
}
