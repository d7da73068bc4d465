package stations

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"ampleway/data/fault"
)

// Reach lists the directions of travel, degrees clockwise from north, from
// which a site can be entered. An empty Reach means every direction.
type Reach []float64

var compass = map[string]float64{"N": 0, "NE": 45, "E": 90, "SE": 135, "S": 180, "SW": 225, "W": 270, "NW": 315}

// ParseReach reads directions of travel separated by ";": compass points
// (N, NE, ... NW) or degrees in 0..360. An empty text gives an empty Reach.
func ParseReach(text string) (Reach, error) {
	var reach Reach
	for _, field := range strings.Split(text, ";") {
		field = strings.ToUpper(strings.TrimSpace(field))
		if field == "" {
			continue
		}
		deg, ok := compass[field]
		if !ok {
			var err error
			deg, err = strconv.ParseFloat(field, 64)
			if err != nil || !(deg >= 0 && deg <= 360) {
				return nil, &fault.Input{Field: "reach", Found: field, Expected: "a compass point such as NE or degrees in 0..360"}
			}
		}
		reach = append(reach, deg)
	}
	return reach, nil
}

// String gives the degrees separated by ";", as ParseReach reads them.
func (r Reach) String() string {
	words := make([]string, len(r))
	for i, deg := range r {
		words[i] = fmt.Sprintf("%g", deg)
	}
	return strings.Join(words, ";")
}

// MarshalText gives the form that ParseReach reads.
func (r Reach) MarshalText() ([]byte, error) { return []byte(r.String()), nil }

// UnmarshalText reads the form of ParseReach.
func (r *Reach) UnmarshalText(text []byte) error {
	reach, err := ParseReach(string(text))
	*r = reach
	return err
}

// Admits reports whether a driver on the given bearing can enter: the bearing
// is less than 90 degrees off one of the directions.
func (r Reach) Admits(bearingDeg float64) bool {
	if len(r) == 0 {
		return true
	}
	for _, deg := range r {
		off := math.Abs(math.Remainder(bearingDeg-deg, 360))
		if off < 90 {
			return true
		}
	}
	return false
}
