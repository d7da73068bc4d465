package energy_test

import (
	"bytes"
	"testing"

	"ampleway/data/cars"
	"ampleway/energy"
)

func builtIn(t testing.TB, name string) *energy.Car {
	t.Helper()
	file, text, ok := cars.File(name)
	if !ok {
		t.Fatalf("no built-in car %q", name)
	}
	car, err := energy.ReadCar(bytes.NewReader(text), file)
	if err != nil {
		t.Fatal(err)
	}
	return car
}

func TestBuiltInCarsAreSoundAndSayTheyAreInvented(t *testing.T) {
	if got := len(cars.Names()); got != 6 {
		t.Errorf("%d built-in cars, want 6", got)
	}
	for _, name := range cars.Names() {
		car := builtIn(t, name)
		if err := car.Validate(); err != nil {
			t.Errorf("%s: %v", name, err)
		}
		if _, text, _ := cars.File(name); !bytes.Contains(text, []byte("# Invented: ")) {
			t.Errorf("%s does not say that it is invented", name)
		}
	}
}
