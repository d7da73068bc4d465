package trip

import (
	"math"
	"slices"
	"strconv"
	"strings"

	"ampleway/data/fault"
)

var (
	compassNames  = strings.Fields("north north-north-east north-east east-north-east east east-south-east south-east south-south-east south south-south-west south-west west-south-west west west-north-west north-west north-north-west")
	compassPoints = strings.Fields("N NNE NE ENE E ESE SE SSE S SSW SW WSW W WNW NW NNW")
)

// degreesPerPoint is the angle between two of the sixteen points.
const degreesPerPoint = 360.0 / 16

// Compass returns the nearest of the sixteen points of the compass, in words.
func Compass(deg float64) string {
	turn := math.Mod(math.Mod(deg, 360)+360, 360)
	return compassNames[int(math.Round(turn/degreesPerPoint))%len(compassNames)]
}

// ParseBearing reads a point of the compass (N, SSW, ...) or degrees clockwise
// from north.
func ParseBearing(text string) (float64, error) {
	if i := slices.Index(compassPoints, strings.ToUpper(strings.TrimSpace(text))); i >= 0 {
		return float64(i) * degreesPerPoint, nil
	}
	deg, err := strconv.ParseFloat(text, 64)
	if err != nil || !(math.Abs(deg) <= 360) {
		return 0, &fault.Input{Field: "direction", Found: text, Expected: "a point of the compass such as SSW, or degrees clockwise from north"}
	}
	return deg, nil
}
