package study

import (
	"fmt"

	"ampleway/route/question"
	"ampleway/route/trip"
)

// block is what the cases that share a drive have in common.
type block struct {
	set      int // index into Study.sets
	car      string
	tempC    float64
	wind     Wind
	surface  string
	speedKMH float64
}

// blocks lists those of every corridor, in order.
func (s *Study) blocks() []block {
	var out []block
	for i, a := range s.sets() {
		for _, car := range a.Cars {
			for _, temp := range a.TempsC {
				for _, wind := range a.Winds {
					for _, surface := range a.Surfaces {
						for _, speed := range a.SpeedCapsKMH {
							out = append(out, block{i, car, temp, wind, surface, speed})
						}
					}
				}
			}
		}
	}
	return out
}

// request is a block's form, for a confidence and reserve of 0.
func (s *Study) request(b *block) question.Question {
	r := s.Request
	r.TempC, r.WindKMH, r.WindFromDeg = b.tempC, b.wind.KMH, b.wind.FromDeg
	r.Surface = b.surface
	if r.SpeedCapKMH = nil; b.speedKMH > 0 {
		r.SpeedCapKMH = &b.speedKMH
	}
	r.ConfidencePct, r.ReservePct, r.ArriveWithPct = 0, 0, 0
	return r
}

// drive makes a block's drive on its corridor, and its goal without reserves.
func (in *inputs) drive(c *trip.Corridor, b *block) (*trip.Drive, trip.Goal, error) {
	r := in.study.request(b)
	cond, options, goal, err := trip.Parts(&r)
	if err != nil {
		return nil, trip.Goal{}, err
	}
	d, err := trip.NewDrive(c, in.cars[b.car], cond, options)
	if err != nil {
		return nil, trip.Goal{}, err
	}
	goal, err = d.Priced(goal)
	return d, goal, err
}

func (b *block) text() string {
	return fmt.Sprintf("%s, %g °C, wind %g km/h, %s, speed cap %g km/h", b.car, b.tempC, b.wind.KMH, b.surface, b.speedKMH)
}

// job is a stretch of one corridor's blocks: the unit of work, of writing and
// of starting again.
type job struct {
	number   int
	corridor int
	from, to int // blocks
}

// jobRows is about how many cases a job has.
const jobRows = 2000

// jobs cuts the blocks of each corridor into jobs.
func (s *Study) jobs(corridors int) []job {
	sets, blocks := s.sets(), s.blocks()
	rows := make([]int, len(sets))
	for i, a := range sets {
		rows[i] = len(a.ConfidencesPct) * len(a.ReservesPct) * len(a.DepartsSoCPct) * a.Outages.about()
	}
	var out []job
	for c := range corridors {
		for from := 0; from < len(blocks); {
			to, sum := from, 0
			for to < len(blocks) && (sum == 0 || sum+rows[blocks[to].set] <= jobRows) {
				sum += rows[blocks[to].set]
				to++
			}
			out = append(out, job{len(out), c, from, to})
			from = to
		}
	}
	return out
}

// eachAbout stands for the number of usable sites before it is known.
const eachAbout = 30

func (o *Outages) about() int {
	n := 0
	if o.None {
		n++
	}
	if o.Each {
		n += eachAbout
	}
	if o.Random != nil {
		n += o.Random.Sets
	}
	return n
}
