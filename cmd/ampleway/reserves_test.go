package main

import (
	"strings"
	"testing"

	"ampleway/testdata"
)

// Where the reserve on the way and what is wanted on arrival differ, the text
// says which of the two it speaks of; where they are one, there is one.
func TestReservesAreToldApart(t *testing.T) {
	testdata.Sequential(t)
	for _, c := range []struct {
		args []string
		code int
		says string
	}{
		{nil, exitOK, "Your reserve of 10 % on the way and the 15 % you want on arrival hold until"},
		{[]string{"--reserve", "12"}, exitOK, "Your reserve of 12 % holds until"},
		{[]string{"--reserve", "20", "--arrive-with", "10"}, exitOK, "The 20 % you want at each stop and the 10 % you want on arrival hold until"},
		{[]string{"--confidence", "0", "--format", "html"}, exitOK, "reserve 10 % on the way, 15 % on arrival"},
		{[]string{"--confidence", "0", "--format", "html"}, exitOK, "enough to arrive with the 15 % you want on arrival."},
		{[]string{"--reserve", "12", "--format", "html"}, exitOK, "reserve 12 %<"},
		{[]string{"--car", "small-hatch", "--leave-with", "10"}, exitNoPlan, "with your reserve of 10 % on the way"},
		{[]string{"--car", "small-hatch", "--arrive-with", "100"}, exitNoPlan, "with the 100 % you want on arrival"},
		{[]string{"--car", "small-hatch", "--leave-with", "12", "--reserve", "11"}, exitNoPlan, "with your reserve of 11 %"},
		{[]string{"--back", "--stay", "6h level2:40"}, exitOK, "no drive ends with less than"},
	} {
		code, out, errOut := ampleway(t, "", append([]string{"trip"}, c.args...)...)
		said := strings.Join(strings.Fields(out+errOut), " ")
		if code != c.code || !strings.Contains(said, c.says) {
			t.Errorf("%v: exit code %d, does not say %q: %.1500s", c.args, code, c.says, said)
		}
	}
}
