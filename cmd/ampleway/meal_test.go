package main

import (
	"strings"
	"testing"
)

// A trip with a meal says at which stop it is had.
func TestTheMealIsAtAStop(t *testing.T) {
	code, out, errOut := ampleway(t, "", "trip", "--meal", "12:00-13:30 30m", "--depart", "2026-12-24T08:00")
	if code != exitOK {
		t.Fatalf("exit code %d: %s", code, errOut)
	}
	if n := strings.Count(out, "The meal is here: you stay "); n != 1 {
		t.Errorf("the meal is named %d times in\n%s", n, out)
	}
}
