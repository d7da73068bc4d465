package stops_test

import (
	"bufio"
	"encoding/json"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"time"

	"ampleway/energy/taper"
	"ampleway/route/stops"
	"ampleway/testdata"
)

// stepped turns a curve into one of equal steps: with constant power on each,
// the charging time is piecewise linear, and a mixed-integer program can hold
// the very same table.
func stepped(c taper.Curve, steps int) taper.Curve {
	var out taper.Curve
	for i := range steps {
		from, to := float64(i)/float64(steps), float64(i+1)/float64(steps)
		kW := c.PowerKW((from + to) / 2)
		out = append(out, taper.Point{SoC: from, PowerKW: kW}, taper.Point{SoC: to, PowerKW: kW})
	}
	return out
}

// steppedInstance is an invented trip whose charging functions are stepped.
func steppedInstance(seed uint64, n, steps int) *stops.Problem {
	p := instance(seed, n, features{reserves: seed%2 == 0, detours: true, hills: seed%3 == 0})
	for i := range p.Chargers {
		kW := []float64{50, 100, 150, 300}[(int(seed)+i*7)%4]
		own := curves[(int(seed)+i*i)%2*4] // the falling ones; every seventh charger another
		if i%7 == 3 {
			own = curves[3]
		}
		f, err := taper.New(stepped(own.Cap(kW), steps), p.CapacityKWh)
		if err != nil {
			panic(err)
		}
		p.Chargers[i].Power = f
	}
	return p
}

// program writes a trip as a mixed-integer program in LP format: which drive
// follows which (y), what is in the battery on arrival (a) and departure (x),
// and the charging clock at both (piecewise linear, filled piece by piece; z
// holds the order of filling where cost alone would not).
func program(p *stops.Problem) string {
	n := len(p.Chargers)
	e := p.CapacityKWh
	b := newBrute(p)
	var objective, rows, bounds, binaries strings.Builder
	term := func(w *strings.Builder, c float64, name string) {
		if c != 0 {
			fmt.Fprintf(w, " %+.12g %s\n", c, name)
		}
	}
	in, out := map[int][]string{}, map[int][]string{}
	needs := map[int]string{}
	for i := -1; i < n; i++ {
		for j := i + 1; j <= n; j++ {
			l := b.legs(i, j)[0]
			reserve := p.ReserveSoC
			if j < n {
				reserve = p.Chargers[j].ReserveSoC
			}
			need := math.Max(l.NeedKWh/e, l.CostKWh/e+reserve)
			limit := l.CapKWh / e
			if limit == 0 {
				limit = 1
			}
			if need > 1 || limit < reserve {
				continue
			}
			y := fmt.Sprintf("y_%d_%d", i+1, j+1)
			fmt.Fprintf(&binaries, " %s\n", y)
			overhead := 0.0
			if j < n {
				overhead = p.Chargers[j].OverheadS
			}
			term(&objective, l.TimeS+overhead, y)
			out[i] = append(out[i], y)
			in[j] = append(in[j], y)
			needs[i] += fmt.Sprintf(" - %.12g %s\n", need, y)
			if j < n {
				fmt.Fprintf(&rows, " a_%d - x_%d + 2 %s <= %.12g\n", j+1, i+1, y, 2-l.CostKWh/e)
				if limit < 1 {
					fmt.Fprintf(&rows, " a_%d + 1 %s <= %.12g\n", j+1, y, 1+limit)
				}
			}
		}
	}
	for i := -1; i < n; i++ {
		if needs[i] != "" {
			fmt.Fprintf(&rows, " x_%d%s >= 0\n", i+1, needs[i])
		}
	}
	fmt.Fprintf(&bounds, " x_0 = %.12g\n", p.DepartSoC)
	fmt.Fprintf(&rows, " %s = 1\n %s = 1\n", strings.Join(out[-1], " + "), strings.Join(in[n], " + "))
	for j := range n {
		if len(in[j]) == 0 || len(out[j]) == 0 {
			for _, y := range append(in[j], out[j]...) {
				fmt.Fprintf(&rows, " %s = 0\n", y)
			}
			fmt.Fprintf(&rows, " a_%d = 0\n x_%d = 0\n", j+1, j+1)
			continue
		}
		visits := strings.Join(in[j], " + ")
		fmt.Fprintf(&rows, " %s - %s = 0\n", visits, strings.Join(out[j], " - "))
		less := " - " + strings.Join(in[j], " - ")
		fmt.Fprintf(&rows, " a_%d%s <= 0\n x_%d - a_%d >= 0\n", j+1, less, j+1, j+1)
		fmt.Fprintf(&rows, " x_%d", j+1)
		for _, y := range in[j] {
			fmt.Fprintf(&rows, " - %.12g %s", math.Max(b.ceiling(j), p.Chargers[j].ReserveSoC), y)
		}
		fmt.Fprint(&rows, " <= 0\n")
		fmt.Fprintf(&rows, " a_%d", j+1)
		for _, y := range in[j] {
			fmt.Fprintf(&rows, " - %.12g %s", p.Chargers[j].ReserveSoC, y)
		}
		fmt.Fprint(&rows, " >= 0\n")
		falling := true
		pieces := p.Chargers[j].Power.Pieces()
		for k := 1; k < len(pieces); k++ {
			falling = falling && pieces[k].FromKW <= pieces[k-1].FromKW
		}
		for _, side := range []struct {
			name    string
			sign    float64
			ordered bool
		}{{"x", 1, !falling}, {"a", -1, true}} {
			fmt.Fprintf(&rows, " %s_%d", side.name, j+1)
			for k := range pieces {
				fmt.Fprintf(&rows, " - d%s_%d_%d", side.name, j+1, k)
			}
			fmt.Fprint(&rows, " = 0\n")
			for k, q := range pieces {
				width := q.ToSoC - q.FromSoC
				d := fmt.Sprintf("d%s_%d_%d", side.name, j+1, k)
				z := fmt.Sprintf("z%s_%d_%d", side.name, j+1, k)
				fmt.Fprintf(&bounds, " 0 <= %s <= %.12g\n", d, width)
				term(&objective, side.sign*3600*e/q.FromKW, d)
				if !side.ordered || k+1 == len(pieces) {
					continue
				}
				next := pieces[k+1].ToSoC - pieces[k+1].FromSoC
				fmt.Fprintf(&binaries, " %s\n", z)
				fmt.Fprintf(&rows, " %s - %.12g %s >= 0\n", d, width, z)
				fmt.Fprintf(&rows, " d%s_%d_%d - %.12g %s <= 0\n", side.name, j+1, k+1, next, z)
			}
		}
	}
	return "Minimize\n obj:\n" + objective.String() + "Subject To\n" + rows.String() + "Bounds\n" + bounds.String() + "Binaries\n" + binaries.String() + "End\n"
}

// proof is what a solver says of a program.
type proof struct {
	proven bool
	value  float64
	took   time.Duration
}

type solver struct {
	name string
	run  func(t *testing.T, file string, limit time.Duration) proof
}

func solvers(t *testing.T) []solver {
	cbc, glpsol, modules := testdata.Tool(t, "cbc"), testdata.Tool(t, "glpsol"), testdata.NodeModules(t)
	return []solver{
		{"HiGHS", func(t *testing.T, file string, limit time.Duration) proof {
			script := `const fs=require("fs");require(process.argv[1])().then(h=>{const t=Date.now();const s=h.solve(fs.readFileSync(process.argv[2],"utf8"),{mip_rel_gap:0,mip_abs_gap:1e-4,mip_feasibility_tolerance:1e-9,primal_feasibility_tolerance:1e-9,time_limit:+process.argv[3]});console.log(JSON.stringify({Status:s.Status,Value:s.ObjectiveValue,Ms:Date.now()-t}))})`
			text, err := exec.Command("node", "-e", script, filepath.Join(modules, "highs"), file, fmt.Sprint(limit.Seconds())).Output()
			var r struct {
				Status    string
				Value, Ms float64
			}
			if err != nil || json.Unmarshal(text[strings.LastIndex(string(text[:max(len(text)-1, 0)]), "\n")+1:], &r) != nil {
				return proof{}
			}
			return proof{r.Status == "Optimal", r.Value, time.Duration(r.Ms * 1e6)}
		}},
		// CBC 2.10.8 with preprocessing calls a value optimal, on a trip of this
		// series, that is 696 s above a plan which keeps every limit and which
		// the other two and CBC without it agree on. So it runs without.
		{"CBC", func(t *testing.T, file string, limit time.Duration) proof {
			answer := file + ".cbc"
			start := time.Now()
			exec.Command(cbc, file, "preprocess", "off", "ratio", "0", "allow", "0", "integerTolerance", "1e-9", "primalTolerance", "1e-9", "sec", fmt.Sprint(limit.Seconds()), "solve", "solution", answer).Run()
			took := time.Since(start)
			text, _ := os.ReadFile(answer)
			m := regexp.MustCompile(`^Optimal - objective value\s+(\S+)`).FindSubmatch(text)
			if m == nil {
				return proof{took: took}
			}
			v, err := strconv.ParseFloat(string(m[1]), 64)
			return proof{err == nil, v, took}
		}},
		{"GLPK", func(t *testing.T, file string, limit time.Duration) proof {
			answer := file + ".glpk"
			start := time.Now()
			exec.Command(glpsol, "--lp", file, "--cuts", "--tmlim", fmt.Sprint(int(limit.Seconds())), "-o", answer).Run()
			took := time.Since(start)
			f, err := os.Open(answer)
			if err != nil {
				return proof{took: took}
			}
			defer f.Close()
			out := proof{took: took}
			for s := bufio.NewScanner(f); s.Scan(); {
				line := s.Text()
				if strings.HasPrefix(line, "Status:") {
					out.proven = strings.Contains(line, "INTEGER OPTIMAL")
				}
				if m := regexp.MustCompile(`^Objective:.*= (\S+)`).FindStringSubmatch(line); m != nil {
					out.value, _ = strconv.ParseFloat(m[1], 64)
				}
			}
			return out
		}},
	}
}

// TestSolvers compares plans with what three general solvers prove on the same
// trips as mixed-integer programs, and prints the times side by side. All of
// it: AMPLEWAY_SLOW=1 go test ./route/stops -run 'TestSolvers|TestCertificate' -v -timeout 3h
func TestSolvers(t *testing.T) {
	sizes := []struct{ n, trips int }{{4, 2}}
	limit := 20 * time.Second
	if os.Getenv("AMPLEWAY_CI") != "" {
		sizes = []struct{ n, trips int }{{6, 2}, {8, 1}}
	}
	if testdata.Slow() {
		sizes = []struct{ n, trips int }{{8, 40}, {10, 36}, {12, 24}, {14, 8}, {16, 6}, {20, 4}}
		limit = 30 * time.Second
	}
	all := solvers(t)
	proven := 0
	t.Logf("%8s %5s %12s | proven, median ratio of times", "chargers", "trips", "planner")
	for _, size := range sizes {
		n := size.n
		ratios := make([][]float64, len(all))
		var own []float64
		trips := 0
		for seed := uint64(1); trips < size.trips; seed++ {
			p := steppedInstance(seed*31+uint64(n), n, 8)
			plan, err := stops.Solve(p)
			if err != nil || len(plan.Stops) == 0 {
				continue
			}
			trips++
			if err := stops.Verify(p, plan); err != nil {
				t.Errorf("n %d, seed %d: %v", n, seed, err)
			}
			file := filepath.Join(t.TempDir(), "trip.lp")
			if err := os.WriteFile(file, []byte(program(p)), 0o600); err != nil {
				t.Fatal(err)
			}
			took := fastest(p)
			own = append(own, took.Seconds()*1e6)
			some := false
			said := fmt.Sprintf("n %d, seed %d: %.3f s", n, seed, plan.Value)
			for i, s := range all {
				r := s.run(t, file, limit)
				if !r.proven {
					said += fmt.Sprintf(", %s not done in %v", s.name, limit)
					continue
				}
				said += fmt.Sprintf(", %s %.3f s in %.2f s", s.name, r.value, r.took.Seconds())
				some = true
				ratios[i] = append(ratios[i], r.took.Seconds()/took.Seconds())
				if math.Abs(r.value-plan.Value) > 0.01 {
					t.Errorf("n %d, seed %d: %s proves %.6f, the planner gives %.6f", n, seed, s.name, r.value, plan.Value)
				}
			}
			t.Log(said)
			if some {
				proven++
			}
		}
		line := fmt.Sprintf("%8d %5d %9.1f µs |", n, trips, median(own))
		for i, s := range all {
			line += fmt.Sprintf("  %s %d of %d, × %.0f", s.name, len(ratios[i]), trips, median(ratios[i]))
		}
		t.Log(line)
	}
	t.Logf("%d trips proven by at least one solver", proven)
	if proven == 0 {
		t.Error("no trip was proven by any solver: nothing was compared")
	}
}

// fastest is the time of one plan, the best of a few.
func fastest(p *stops.Problem) time.Duration {
	var pl stops.Planner
	var plan stops.Plan
	best := time.Hour
	for range 20 {
		start := time.Now()
		if pl.Solve(p, &plan) != nil {
			break
		}
		best = min(best, time.Since(start))
	}
	return best
}

func median(v []float64) float64 {
	if len(v) == 0 {
		return math.NaN()
	}
	s := append([]float64(nil), v...)
	for i := range s {
		for j := i; j > 0 && s[j] < s[j-1]; j-- {
			s[j], s[j-1] = s[j-1], s[j]
		}
	}
	return s[len(s)/2]
}
