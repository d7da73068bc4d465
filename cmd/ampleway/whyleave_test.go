package main

import (
	"encoding/json"
	"fmt"
	"math"
	"regexp"
	"strings"
	"testing"

	"ampleway/testdata"
)

var (
	atHigher = regexp.MustCompile(`even at (\d+) % higher consumption`)
	quicker  = "because charging here is quicker than there"
)

// Why a stop ends where it does is true of the figures of that stop: the margin
// is that of the leg after it, and "quicker here" stands only where speed is
// asked for and power at the next stop begins no higher.
func TestWhyAStopEndsWhereItDoes(t *testing.T) {
	testdata.Sequential(t)
	margins := 0
	for _, args := range [][]string{nil, {"--best", "cost"}, {"--best", "fewest-stops"}, {"--confidence", "0"}} {
		args = append([]string{"trip"}, args...)
		_, out, _ := ampleway(t, "", append(args, "--format", "json")...)
		var d struct {
			Drives []struct {
				Stops []struct {
					PowerInKW  float64 `json:"power_in_kw"`
					PowerOutKW float64 `json:"power_out_kw"`
				} `json:"stops"`
				Legs []struct {
					HeadroomPct float64 `json:"headroom_pct"`
				} `json:"legs"`
			} `json:"drives"`
		}
		if err := json.Unmarshal([]byte(out), &d); err != nil {
			t.Fatal(err)
		}
		_, text, _ := ampleway(t, "", args...)
		said := strings.Split(plain(text), "If it cannot charge you:")
		drive := d.Drives[0]
		if len(said) != len(drive.Stops)+1 {
			t.Fatalf("%v: %d stops in JSON, %d in the text", args, len(drive.Stops), len(said)-1)
		}
		for i, why := range said[:len(drive.Stops)] {
			if m := atHigher.FindStringSubmatch(why); m != nil {
				margins++
				if want := fmt.Sprint(math.Floor(drive.Legs[i+1].HeadroomPct)); m[1] != want {
					t.Errorf("%v, stop %d: %s %% said, %s %% of headroom", args, i+1, m[1], want)
				}
			}
			if strings.Contains(why, quicker) && (len(args) > 1 && args[1] == "--best" || drive.Stops[i].PowerOutKW < drive.Stops[i+1].PowerInKW-0.01) {
				t.Errorf("%v, stop %d: %s", args, i+1, why)
			}
		}
	}
	if margins == 0 {
		t.Error("no stop owes its departure to a margin")
	}
}

// The last stop before a stay is said to charge for the drives after it where it
// must.
func TestAStopThatChargesForTheWayBack(t *testing.T) {
	_, text, _ := ampleway(t, "", "trip", "--back", "--stay", "6h", "--confidence", "95")
	out, _, _ := strings.Cut(plain(text), "Drive 2: ")
	if !strings.Contains(out, "because what is left counts for the drives after this one") {
		t.Error(out)
	}
}
