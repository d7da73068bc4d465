package fit_test

import (
	"bytes"
	"os"
	"path/filepath"
	"testing"

	"ampleway/data/cars"
	"ampleway/energy"
	"ampleway/energy/fit"
	"ampleway/testdata"
)

func builtIn(t testing.TB, name string) *energy.Car {
	t.Helper()
	file, text, ok := cars.File(name)
	if !ok {
		t.Fatalf("no built-in car %s", name)
	}
	car, err := energy.ReadCar(bytes.NewReader(text), file)
	if err != nil {
		t.Fatal(err)
	}
	return car
}

func drives(t testing.TB, pattern string) []*fit.Log {
	t.Helper()
	paths, err := filepath.Glob(filepath.Join(testdata.OpenData(t, "drives"), pattern))
	if err != nil || len(paths) == 0 {
		t.Fatalf("%v, %d files", err, len(paths))
	}
	var logs []*fit.Log
	for _, p := range paths {
		f, err := os.Open(p)
		if err != nil {
			t.Fatal(err)
		}
		l, err := fit.ReadLog(f, filepath.Base(p), fit.LogOptions{})
		f.Close()
		if err != nil {
			t.Fatal(err)
		}
		logs = append(logs, l)
	}
	return logs
}

func TestRealDrives(t *testing.T) {
	for _, set := range []string{"a*.csv", "b*.csv", "*.csv"} {
		r, err := fit.Fit(drives(t, set), builtIn(t, "small-hatch"), fit.Options{})
		if err != nil {
			t.Fatal(err)
		}
		t.Log(r.Detail, r.Warnings)
		for _, x := range r.Trips {
			t.Logf("%+v", x)
		}
		for _, x := range r.Estimates {
			t.Logf("%+v", x)
		}
		for _, x := range r.Bands {
			t.Logf("%+v", x)
		}
		t.Logf("%s %+v %+v %+v %+v", set, r.Recorded, r.Modelled, r.Climate, r.Spread)
	}
}
