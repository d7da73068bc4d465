package main

import (
	"fmt"
	"path/filepath"
	"strings"
	"testing"
)

// A road that no one drives is refused for its size, before it is worked on.
func TestRoadsAreJudgedFirst(t *testing.T) {
	dir := t.TempDir()
	line := func(name, points string) string {
		return written(t, filepath.Join(dir, name+".geojson"), func(b *strings.Builder) {
			fmt.Fprintf(b, `{"type": "LineString", "coordinates": [%s]}`, points)
		})
	}
	var many, round strings.Builder
	for i := range 500_001 {
		fmt.Fprintf(&many, "[%.6f, 50],", 10+float64(i)/1e5)
	}
	for i := range 400 {
		fmt.Fprintf(&round, "[%d, %d],", i%2, i%90-45)
	}
	for _, c := range []struct {
		want string
		args []string
	}{
		{"a drive of at most 12000 km", []string{"--route", line("globe", "[10, 50], [170, -45]")}},
		{"without a point between them", []string{"--route", line("jump", "[10, 50], [10.1, 50.1], [60, 50.2], [60.1, 50.3]")}},
		{"500002 points", []string{"--route", line("many", many.String()+"[15.1, 50]")}},
		{"a drive of at most 12000 km", []string{"--route", line("round", round.String()+"[1, 1]")}},
		{"0.01 to 50 km", []string{"--route", "demo:pass", "--half-width", "200"}},
	} {
		code, out, errOut := ampleway(t, "", append([]string{"trip", "--stations", "demo"}, c.args...)...)
		if code != exitUsage || out != "" || !strings.Contains(errOut, c.want) {
			t.Errorf("%s: exit code %d, %q", c.args[1], code, errOut)
		}
	}
}
