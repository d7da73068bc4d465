package main

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

func TestFilesAreWhatTheProgramMakes(t *testing.T) {
	first, second := files(), files()
	if len(first) != 6 {
		t.Fatalf("%d files made, want 6", len(first))
	}
	for name, content := range first {
		if !bytes.Equal(content, second[name]) {
			t.Errorf("%s differs from one run to the next", name)
		}
		kept, err := os.ReadFile(filepath.Join("..", "..", name))
		if err != nil {
			t.Error(err)
			continue
		}
		if !bytes.Equal(content, kept) {
			t.Errorf("%s is not what the program makes: run go generate ./data", name)
		}
		if !strings.Contains(string(content), "Invented") {
			t.Errorf("%s does not say that it is invented", name)
		}
	}
}

func TestRoadsPassThroughTheirPlaces(t *testing.T) {
	for _, r := range drawRoads() {
		for k, name := range r.plan.placeNames() {
			p, i := placeNamed(name), r.knots[k]
			if d := r.line[i].distanceM(p.at()); d > 0.01 {
				t.Errorf("%s passes %s at %.2f m", r.plan.id, name, d)
			}
			if dz := r.elevationM[i] - p.elevationM; dz > 0.01 || dz < -0.01 {
				t.Errorf("%s is %.2f m above %s", r.plan.id, dz, name)
			}
		}
	}
}

func TestSpeedsAreWithinLimitsAndBraking(t *testing.T) {
	const slack = 1e-9
	for _, r := range drawRoads() {
		for i, v := range r.speedMS {
			if v > r.limitKmh[i]/3.6+slack {
				t.Fatalf("%s at %.0f m: %.1f m/s over the limit of %.0f km/h", r.plan.id, r.alongM[i], v, r.limitKmh[i])
			}
			if i == 0 {
				continue
			}
			a := (v*v - r.speedMS[i-1]*r.speedMS[i-1]) / 2 / (r.alongM[i] - r.alongM[i-1])
			if a > lengthwaysMS2+slack || a < -lengthwaysMS2-slack {
				t.Fatalf("%s at %.0f m: %.2f m/s² lengthways", r.plan.id, r.alongM[i], a)
			}
		}
	}
}

func TestNamesAreUsedOnce(t *testing.T) {
	seen := make(map[string]bool)
	for _, s := range sites {
		if seen[s.name] {
			t.Errorf("two sites are called %s", s.name)
		}
		seen[s.name] = true
	}
}
