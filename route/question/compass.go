package question

import (
	"math"
	"slices"
	"strings"
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

// Bearing reads a point of the compass (N, SSW, ...) as degrees clockwise from
// north.
func Bearing(point string) (deg float64, ok bool) {
	i := slices.Index(compassPoints, strings.ToUpper(strings.TrimSpace(point)))
	return float64(i) * degreesPerPoint, i >= 0
}
