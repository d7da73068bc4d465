package energy

import "math"

const (
	forecastHeightM = 10.0
	carHeightM      = 1.0
	// roughnessM is open country with low crops (roughness class 1 of the
	// European Wind Atlas, 1989).
	roughnessM = 0.03
)

// RoadWindMS turns the wind of a forecast, which is for 10 m above open
// ground, into the wind at a car's height of 1 m: about 0.6 of it, by the
// logarithmic wind profile ln(z/z₀)/ln(10 m/z₀). Trees and cuttings take more.
func RoadWindMS(forecastMS float64) float64 {
	return forecastMS * math.Log(carHeightM/roughnessM) / math.Log(forecastHeightM/roughnessM)
}
