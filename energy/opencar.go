package energy

import (
	"bytes"
	"errors"
	"io/fs"
	"math"
	"os"
	"strings"

	"ampleway/data/cars"
	"ampleway/data/fault"
)

// OpenCar reads a built-in car by its name (see cars.Names) or a car file by
// its path.
func OpenCar(nameOrPath string) (*Car, error) {
	if file, text, ok := cars.File(nameOrPath); ok {
		return ReadCar(bytes.NewReader(text), file)
	}
	file, err := os.Open(nameOrPath)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, &fault.Input{Field: "car", Found: nameOrPath, Expected: "a car file, or one of " + strings.Join(cars.Names(), ", ")}
	}
	if err != nil {
		return nil, err
	}
	defer file.Close()
	return ReadCar(file, nameOrPath)
}

// NearestClass returns the built-in passenger car closest to a mass in kg, to
// stand in for what is not known of a car. The van and the light truck are
// chosen by name only.
func NearestClass(massKg float64) (*Car, error) {
	var nearest *Car
	for _, name := range []string{"small-hatch", "mid-size-sedan", "crossover", "large-suv"} {
		car, err := OpenCar(name)
		if err != nil {
			return nil, err
		}
		if nearest == nil || math.Abs(car.MassKg-massKg) < math.Abs(nearest.MassKg-massKg) {
			nearest = car
		}
	}
	return nearest, nil
}
