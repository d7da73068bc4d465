package web

import (
	"fmt"

	"ampleway/data/fault"
	"ampleway/route/trip"
)

// ThereAndBack is the second half of a question: whether the way back is
// planned too, the stay before it, and its weather where that is other.
type ThereAndBack struct {
	Back            bool     `json:"back"`
	StayH           float64  `json:"stay_h"`
	StayPlug        string   `json:"stay_plug"` // one of stayPlugs
	StayAmps        float64  `json:"stay_amps"` // breaker; 0: the usual one
	StayKW          float64  `json:"stay_kw"`   // of a fast charger; 0: the usual one
	BackTempC       *float64 `json:"back_temp_c"`
	BackWindKMH     *float64 `json:"back_wind_kmh"`
	BackWindFromDeg *float64 `json:"back_wind_from_deg"`
}

const (
	plugOutlet     = "level1"
	plugCircuit    = "level2"
	plugThreePhase = "level2x3"
	plugFast       = "dc"
)

var stayPlugs = []choice{{"", "nothing"}, {plugOutlet, "household outlet"}, {plugCircuit, "240 V circuit"},
	{plugThreePhase, "three-phase circuit"}, {plugFast, "fast charger"}}

// What a plug gives where the form does not say.
const usualAmps, usualThreePhaseAmps, usualFastKW = 40.0, 16.0, 50.0

const mostStayH = 60 * 24.0

// stay is the time there and what the car is plugged into.
func (b *ThereAndBack) stay() (trip.Stay, error) {
	if !(b.StayH >= 0 && b.StayH <= mostStayH) {
		return trip.Stay{}, &fault.Input{Field: "stay_h", Found: plain(b.StayH), Expected: fmt.Sprintf("0 to %g hours", mostStayH)}
	}
	text, key, value := "none", "stay_plug", 0.0
	switch b.StayPlug {
	case "":
	case plugOutlet:
		text = plugOutlet
	case plugCircuit:
		key, value = "stay_amps", or(b.StayAmps, usualAmps)
		text = fmt.Sprintf("level2:%g", value)
	case plugThreePhase:
		key, value = "stay_amps", or(b.StayAmps, usualThreePhaseAmps)
		text = fmt.Sprintf("level2:%gx3", value)
	case plugFast:
		key, value = "stay_kw", or(b.StayKW, usualFastKW)
		text = fmt.Sprintf("dc:%g", value)
	default:
		return trip.Stay{}, &fault.Input{Field: key, Found: b.StayPlug, Expected: "level1, level2, level2x3 or dc"}
	}
	plug, err := trip.ParsePlug(text)
	if err != nil {
		return trip.Stay{}, &fault.Input{Field: key, Found: plain(value), Expected: "more than 0, at most 2000"}
	}
	return trip.Stay{TimeS: 3600 * b.StayH, Plug: plug}, nil
}

func or(v, usual float64) float64 {
	if v == 0 {
		return usual
	}
	return v
}

// wayBack is the second half of a question, ready to be planned; nil where the
// way back is not asked for.
func (a *Ask) wayBack() (*wayBack, error) {
	if !a.Back {
		return nil, nil
	}
	stay, err := a.stay()
	if err != nil {
		return nil, err
	}
	return &wayBack{stay, inOtherWeather(a.Request, a.BackTempC, a.BackWindKMH, a.BackWindFromDeg)}, nil
}

// inOtherWeather is a request with the weather that is given.
func inOtherWeather(ask trip.Request, tempC, windKMH, windFromDeg *float64) trip.Request {
	for _, other := range []struct{ given, to *float64 }{{tempC, &ask.TempC}, {windKMH, &ask.WindKMH}} {
		if other.given != nil {
			*other.to = *other.given
		}
	}
	if windFromDeg != nil {
		ask.WindFromDeg = windFromDeg
	}
	return ask
}
