package open

import (
	"math"
	"strconv"
	"strings"

	"ampleway/stations"
)

const (
	maxAC  = 44.0   // IEC 62196-2 type 2: 63 A three-phase, 43.5 kW, as registers round it
	maxDC  = 1000.0 // any DC plug but MCS; CCS ends at 1000 V and 500 to 1000 A
	maxMCS = 4000.0 // SAE J3271: 1250 V, 3000 A, 3,750 kW
)

// ceilingKW is the most power that a plug can carry by its standard.
func ceilingKW(c stations.Connector) float64 {
	switch {
	case c.Type == stations.MCS:
		return maxMCS
	case c.Type == stations.CHAdeMO:
		return 200 // CHAdeMO 1.2
	case c.DC:
		return maxDC
	case c.Type == stations.J1772:
		return 19.2 // SAE J1772: 80 A at 240 V
	case strings.HasPrefix(string(c.Type), "Domestic "):
		return 3.7 // 16 A at 230 V
	case c.Type == "NEMA 5-20":
		return 2.4 // 20 A at 120 V
	}
	return maxAC
}

// powers reads "150 kW", "150", "50;150", "150000 W", "43,5 kW". A figure
// without a unit takes that of the next one, at last kW. ok is false where
// something else stands.
func powers(text string) (kw []float64, ok bool) {
	parts := strings.FieldsFunc(text, func(r rune) bool { return r == ';' || r == '/' || r == '|' })
	unit := 1.0
	for i := len(parts) - 1; i >= 0; i-- {
		number, scale, found := cutUnit(parts[i])
		if found {
			unit = scale
		}
		v, err := strconv.ParseFloat(strings.Replace(number, ",", ".", 1), 64)
		if err != nil || math.IsNaN(v) || math.IsInf(v, 0) {
			return nil, false
		}
		kw = append(kw, v*unit)
	}
	for i, j := 0, len(kw)-1; i < j; i, j = i+1, j-1 {
		kw[i], kw[j] = kw[j], kw[i]
	}
	return kw, len(kw) > 0
}

func cutUnit(text string) (number string, scale float64, found bool) {
	t := strings.ToLower(strings.TrimSpace(text))
	for _, u := range []struct {
		suffix string
		scale  float64
	}{{"kva", 1}, {"kw", 1}, {"mw", 1000}, {"w", 0.001}} {
		if n, ok := strings.CutSuffix(t, u.suffix); ok {
			return strings.TrimSpace(n), u.scale, true
		}
	}
	return t, 1, false
}

// figure reads a number that may carry a unit sign, such as "400 V".
func figure(text string, units ...string) (float64, bool) {
	t := strings.ToLower(strings.TrimSpace(text))
	for _, u := range units {
		t = strings.TrimSpace(strings.TrimSuffix(t, u))
	}
	v, err := strconv.ParseFloat(t, 64)
	return v, err == nil && v > 0 && !math.IsInf(v, 0)
}

// powered gives a stall's plugs one stated power: those whose standard ends
// below it keep an unknown one, because the figure is meant for another plug.
// A figure that fits none is a suspect.
func (c *collector) powered(plugs []stations.Connector, kw float64, where at, field string) []stations.Connector {
	fits := kw == 0 || len(plugs) == 0
	for i := range plugs {
		if kw <= ceilingKW(plugs[i]) {
			plugs[i].PowerKW = kw
			fits = true
		} else {
			plugs[i].PowerKW = 0
		}
	}
	if !fits {
		c.suspect(where, field, strconv.FormatFloat(kw, 'g', 6, 64), "more kW than the plug's standard carries: power unknown")
	}
	return plugs
}

// plug makes a connector of a token and a stated power. Where the token does
// not say which current flows, a power that no AC plug carries is DC.
func (c *collector) plug(token string, kw float64) stations.Connector {
	name, seen := c.tokens[token]
	if !seen {
		name, _ = c.o.Aliases.ConnectorFor(token)
		name = stations.ConnectorType(c.word(string(name)))
		keep(c.tokens, strings.Clone(token), name, maxWords)
	}
	con := stations.Connector{Type: name, PowerKW: kw}
	switch name.Current() {
	case stations.CurrentDC:
		con.DC = true
	case stations.CurrentUnknown:
		con.DC = kw > maxAC
	}
	return con
}

// maxLists bounds the table of connector lists.
const maxLists = 1 << 14

// single is the list of one connector. Equal ones share it.
func (c *collector) single(plug stations.Connector) []stations.Connector {
	if list, ok := c.lists[plug]; ok {
		return list
	}
	list := []stations.Connector{plug}
	keep(c.lists, plug, list, maxLists)
	return list
}
