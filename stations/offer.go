package stations

import (
	"cmp"
	"math"
	"slices"
)

// Adapter lets a car with one inlet use a station with another plug, within
// the adapter's own limits (0 = none).
type Adapter struct {
	From  ConnectorType `json:"from"`         // the station's plug
	To    ConnectorType `json:"to"`           // the car's inlet
	AC    bool          `json:"ac,omitempty"` // for alternating current; false = direct
	MaxKW float64       `json:"max_kw,omitempty"`
	MaxA  float64       `json:"max_a,omitempty"`
	MaxV  float64       `json:"max_v,omitempty"`
}

// Offer is what one car can use at a site: a number of equal stalls.
type Offer struct {
	Connector ConnectorType // the station's plug
	DC        bool
	PowerKW   float64 // most power at one stall while nobody shares it
	FullKW    float64 // most power at one stall while every stall of its group, or of the site, is in use
	MaxA      float64 // current limit, 0 = not known
	MaxV      float64 // voltage limit, 0 = not known
	Phases    int     // AC phases, 0 = DC or not known
	Stalls    int     // stalls that give exactly this
	Assumed   bool    // the power is a default, not from the source
	Adapter   int     // index into the adapters that is needed, −1 = none
}

// Offers returns what a car with the given inlets can use, best first: direct
// current before alternating, then power, current and voltage, no adapter
// before one, and the lower connector name. Each stall counts once, at its
// best connector. Stalls that are planned, closed or out of order are left
// out, and so are connectors whose power is not known.
func (s *Site) Offers(accepts []ConnectorType, adapters ...Adapter) []Offer {
	var offers []Offer
	for i := range s.Stalls {
		best, ok := s.stallOffer(i, accepts, adapters)
		if !ok {
			continue
		}
		at := slices.IndexFunc(offers, func(o Offer) bool { return sameOffer(o, best) })
		if at < 0 {
			offers = append(offers, best)
			continue
		}
		offers[at].Stalls++
	}
	slices.SortStableFunc(offers, better)
	return offers
}

// Offer returns the best of Offers, and false where the car can use nothing.
func (s *Site) Offer(accepts []ConnectorType, adapters ...Adapter) (Offer, bool) {
	offers := s.Offers(accepts, adapters...)
	if len(offers) == 0 {
		return Offer{}, false
	}
	return offers[0], true
}

func (s *Site) stallOffer(i int, accepts []ConnectorType, adapters []Adapter) (best Offer, ok bool) {
	stall := s.Stalls[i]
	if !stall.Status.working() {
		return Offer{}, false
	}
	for _, c := range stall.Connectors {
		adapter, fits := fit(c, accepts, adapters)
		if !fits || c.RatedKW() <= 0 {
			continue
		}
		o := Offer{Connector: c.Type, DC: c.DC, PowerKW: c.RatedKW(), MaxA: c.MaxA, MaxV: c.MaxV, Phases: c.Phases, Stalls: 1, Assumed: c.Assumed, Adapter: adapter}
		if adapter >= 0 {
			o.limit(adapters[adapter])
		}
		s.share(&o, stall)
		if !ok || better(o, best) < 0 {
			best, ok = o, true
		}
	}
	return best, ok
}

func fit(c Connector, accepts []ConnectorType, adapters []Adapter) (adapter int, ok bool) {
	if slices.Contains(accepts, c.Type) {
		return -1, true
	}
	for i, a := range adapters {
		if a.From == c.Type && a.AC == !c.DC && slices.Contains(accepts, a.To) {
			return i, true
		}
	}
	return -1, false
}

func (o *Offer) limit(a Adapter) {
	o.PowerKW = least(o.PowerKW, a.MaxKW)
	o.MaxA = least(o.MaxA, a.MaxA)
	o.MaxV = least(o.MaxV, a.MaxV)
}

// share caps the offer by what the group and the site can give, alone and
// with every other stall in use. Stalls in use are taken to share evenly.
func (s *Site) share(o *Offer, stall Stall) {
	group := 0
	for _, other := range s.Stalls {
		if stall.Group > 0 && other.Group == stall.Group {
			group++
		}
	}
	o.FullKW = o.PowerKW
	if stall.Group > 0 && stall.GroupKW > 0 {
		o.FullKW = math.Min(o.FullKW, stall.GroupKW/float64(group))
		o.PowerKW = math.Min(o.PowerKW, stall.GroupKW)
	}
	if s.SharedKW > 0 {
		o.FullKW = math.Min(o.FullKW, s.SharedKW/float64(len(s.Stalls)))
		o.PowerKW = math.Min(o.PowerKW, s.SharedKW)
	}
}

// least is the smaller of two limits where 0 means none.
func least(a, b float64) float64 {
	if a == 0 || b == 0 {
		return math.Max(a, b)
	}
	return math.Min(a, b)
}

func sameOffer(a, b Offer) bool {
	a.Stalls, b.Stalls = 0, 0
	return a == b
}

func better(a, b Offer) int {
	return cmp.Or(
		-compareBool(a.DC, b.DC),
		-cmp.Compare(a.PowerKW, b.PowerKW),
		-cmp.Compare(a.FullKW, b.FullKW),
		-cmp.Compare(open(a.MaxA), open(b.MaxA)),
		-cmp.Compare(open(a.MaxV), open(b.MaxV)),
		cmp.Compare(a.Adapter, b.Adapter),
		cmp.Compare(a.Connector, b.Connector),
	)
}

// open orders an unknown limit above every known one.
func open(limit float64) float64 {
	if limit == 0 {
		return math.Inf(1)
	}
	return limit
}

func compareBool(a, b bool) int {
	switch {
	case a == b:
		return 0
	case a:
		return 1
	}
	return -1
}
