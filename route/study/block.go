package study

import (
	"slices"
	"strings"

	"ampleway/route/question"
	"ampleway/route/trip"
)

// block is what the cases that share a drive have in common.
type block struct {
	set    *set
	number int // of the drive within its set
}

// blocks lists those of every corridor, in order.
func (s *Study) blocks() []block {
	var out []block
	for i := range s.sets {
		for n := range int(s.sets[i].drives()) {
			out = append(out, block{&s.sets[i], n})
		}
	}
	return out
}

// picks are a block's car and its value on each axis; the last axis varies
// fastest.
func (b *block) picks() (car string, values []string) {
	n := b.number
	values = make([]string, len(b.set.rows))
	for i := len(values) - 1; i >= 0; i-- {
		of := b.set.rows[i].values
		values[i], n = of[n%len(of)], n/len(of)
	}
	return b.set.cars[n], values
}

// request is a block's question, for a confidence and reserve of 0.
func (s *Study) request(b *block) question.Question {
	q := s.Request
	_, values := b.picks()
	for i, a := range b.set.rows {
		_ = a.Set(&q, values[i:i+1], question.Metric) // checked when the study was read
	}
	q.ConfidencePct, q.ReservePct = 0, 0
	return q
}

// drive makes a block's drive on its corridor, and its goal without reserves.
func (in *inputs) drive(c *trip.Corridor, b *block) (*trip.Drive, trip.Goal, error) {
	q := in.study.request(b)
	car, _ := b.picks()
	cond, options, goal, err := trip.Parts(&q)
	if err != nil {
		return nil, trip.Goal{}, err
	}
	d, err := trip.NewDrive(c, in.cars[car], cond, options)
	if err != nil {
		return nil, trip.Goal{}, err
	}
	goal, err = d.Priced(goal)
	return d, goal, err
}

// text names a block by its car and its values on the axes.
func (b *block) text(q *question.Question) string {
	text, _ := b.picks()
	for _, a := range b.set.rows {
		text += ", " + a.Say(q, question.Metric)
	}
	return text
}

// base is what the rows of a block share. An axis without a column of its own
// stands in Asked.
func (b *block) base(corridor string, q *question.Question) Row {
	car, _ := b.picks()
	r := Row{Corridor: corridor, Car: car, TempC: q.TempC, WindKMH: q.WindKMH, WindFromDeg: q.WindFromDeg, Surface: q.Surface}
	if q.SpeedCapKMH != nil {
		r.SpeedCapKMH = *q.SpeedCapKMH
	}
	var asked []string
	for _, a := range b.set.rows {
		if !slices.Contains([]string{"temp_c", "wind_kmh", "wind_from_deg", "surface", "speed_cap_kmh"}, a.Key) {
			asked = append(asked, a.Key+"="+textOf(a.Value(q)))
		}
	}
	r.Asked = strings.Join(asked, ";")
	return r
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
	blocks := s.blocks()
	var out []job
	for c := range corridors {
		for from := 0; from < len(blocks); {
			to, sum := from, 0
			for to < len(blocks) && (sum == 0 || sum+blocks[to].about() <= jobRows) {
				sum += blocks[to].about()
				to++
			}
			out = append(out, job{len(out), c, from, to})
			from = to
		}
	}
	return out
}

// about is the number of a block's cases as far as it is known beforehand.
func (b *block) about() int { return int(b.set.casesOf(b.set.outages.about())) }

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
