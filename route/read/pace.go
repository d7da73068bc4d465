package read

import (
	"fmt"
	"math"
	"sort"

	"ampleway/route/earth"
)

// What a recording of a drive can hold. Common practice, no source: no road
// trip is driven faster than 70 m/s (252 km/h); a receiver at rest wanders by
// less than 1 m/s over 20 s, on a path of less than 2.5 m/s; 10 s of driving
// average out the noise of 1 Hz positions and keep every real change of
// speed.
const (
	fastestMS     = 70.0
	standingMS    = 1.0
	wanderMS      = 2.5
	standWindowS  = 20.0
	speedWindowS  = 10.0
	spikeSamples  = 5   // longest run of stray positions
	standingShare = 0.1 // more than this of the length is never wandering at rest
)

// pace returns the samples of a part with travel speeds made from its times,
// and without the positions that are stray or were recorded while the car
// stood. A part with unusable times keeps all of its samples.
func (f *file) pace(p part) []sample {
	backwards := clearBackwards(p.samples)
	if backwards > 0 {
		f.note("Times left out on %s, as they run backwards: %d.", p.place, backwards)
	}
	t := newTrack(p.samples)
	if len(t.timed) < 2 {
		return p.samples
	}
	clean, spikes := t.withoutSpikes()
	if reason := newTrack(clean).unusable(); reason != "" {
		f.note("The times of %s are not used for speeds: %s.", p.place, reason)
		return p.samples
	}
	if spikes > 0 {
		f.note("Stray positions left out on %s, as they would need more than %.0f m/s: %d.", p.place, fastestMS, spikes)
	}
	moving, still := newTrack(clean).withoutStanding()
	driven := newTrack(moving)
	if driven.lengthM()-still.crawledM < (1-standingShare)*newTrack(clean).lengthM() {
		f.note("The times of %s are not used for speeds: by them the car stands most of the way.", p.place)
		return p.samples
	}
	if still.pauses > 0 {
		f.note("Pauses on %s not counted as driving: %d, in all %.0f min; nor is heating or cooling in them.", p.place, still.pauses, still.stoodS/60)
	}
	driven.setSpeeds()
	return driven.samples
}

// clearBackwards clears the times that are earlier than one before them.
func clearBackwards(samples []sample) (cleared int) {
	latest := math.Inf(-1)
	for i, s := range samples {
		if s.timeS < latest {
			samples[i].timeS = math.NaN()
			cleared++
		} else if s.timeS > latest {
			latest = s.timeS
		}
	}
	return cleared
}

// track is a recording: samples, the path length up to each, and which of
// them have a time.
type track struct {
	samples []sample
	pathM   []float64
	timed   []int
}

func newTrack(samples []sample) *track {
	t := &track{samples: samples, pathM: make([]float64, len(samples))}
	for i, s := range samples {
		if i > 0 {
			t.pathM[i] = t.pathM[i-1] + apartM(samples[i-1], s)
		}
		if !math.IsNaN(s.timeS) {
			t.timed = append(t.timed, i)
		}
	}
	return t
}

func apartM(a, b sample) float64 { return earth.DistanceM(a.lon, a.lat, b.lon, b.lat) }

func (t *track) lengthM() float64 { return t.pathM[len(t.pathM)-1] }

// unusable says why the times cannot be those of a drive, or nothing.
func (t *track) unusable() string {
	first, last := t.timed[0], t.timed[len(t.timed)-1]
	durationS := t.samples[last].timeS - t.samples[first].timeS
	if durationS <= 0 {
		return "they stand still"
	}
	if v := (t.pathM[last] - t.pathM[first]) / durationS; v > fastestMS {
		return fmt.Sprintf("they would need %.0f m/s", v)
	}
	return ""
}

// withoutSpikes leaves out timed samples that cannot be reached from the last
// good one, if one of the next few can, or if they are the end. A first
// sample that cannot be left is stray too.
func (t *track) withoutSpikes() (kept []sample, spikes int) {
	tooFast := func(i, k int) bool {
		a, b := t.samples[t.timed[i]], t.samples[t.timed[k]]
		return apartM(a, b) > fastestMS*math.Max(b.timeS-a.timeS, 1)
	}
	stray := make(map[int]bool)
	n, good := len(t.timed), 0
	if n < 3 {
		return t.samples, 0
	}
	if tooFast(0, 1) && tooFast(0, 2) && !tooFast(1, 2) {
		stray[t.timed[0]] = true
		good = 1
	}
	for i := good + 1; i < n; i++ {
		if tooFast(good, i) {
			back := i == n-1
			for k := i + 1; k < min(n, i+1+spikeSamples); k++ {
				back = back || !tooFast(good, k)
			}
			if back {
				stray[t.timed[i]] = true
				continue
			}
		}
		good = i
	}
	if len(stray) == 0 {
		return t.samples, 0
	}
	for i, s := range t.samples {
		if !stray[i] {
			kept = append(kept, s)
		}
	}
	return kept, len(stray)
}

// wanderedM is how far receivers wander about a car that stands.
const wanderedM = 50.0

// standstill is how often, how long and how far a car stood or crawled.
type standstill struct {
	pauses           int
	stoodS, crawledM float64
}

// withoutStanding takes the time of each pause off all later times and leaves
// out the positions recorded where the car stood. What a pause cuts is time,
// never road: a position farther than wanderedM from the last that was kept
// stays, reached at standingMS if it took longer.
func (t *track) withoutStanding() (moving []sample, still standstill) {
	standing := t.standing()
	if standing == nil {
		return t.samples, still
	}
	next, paused := 0, false
	var fromS float64 // when the last position that was kept in a pause was recorded
	for i, s := range t.samples {
		if next < len(t.timed) && i > t.timed[next] {
			next++
		}
		// The sample ends the stretch between the timed samples next-1 and next.
		if next > 0 && next < len(t.timed) && standing[next-1] {
			if !paused {
				still.pauses++
				paused, fromS = true, t.samples[t.timed[next-1]].timeS
			}
			if gapM := apartM(moving[len(moving)-1], s); i == t.timed[next] && gapM >= wanderedM {
				still.crawledM += gapM
				still.stoodS += max(s.timeS-fromS-gapM/standingMS, 0)
				fromS = s.timeS
				s.timeS -= still.stoodS
				moving = append(moving, s)
			}
			continue
		}
		if paused {
			paused = false
			still.stoodS += t.samples[t.timed[next-1]].timeS - fromS
		}
		s.timeS -= still.stoodS
		moving = append(moving, s)
	}
	if paused {
		still.stoodS += t.samples[t.timed[len(t.timed)-1]].timeS - fromS
	}
	return moving, still
}

// standing tells for each stretch between two timed samples whether the car
// stood; nil if it never did.
func (t *track) standing() []bool {
	var standing []bool
	n := len(t.timed)
	low, high := 0, 0
	for i := 0; i+1 < n; i++ {
		startS, endS := t.samples[t.timed[i]].timeS, t.samples[t.timed[i+1]].timeS
		reachS := math.Max(standWindowS, endS-startS) / 2
		midS := (startS + endS) / 2
		for low < i && t.samples[t.timed[low]].timeS < midS-reachS {
			low++
		}
		high = max(high, i+1)
		for high+1 < n && t.samples[t.timed[high+1]].timeS <= midS+reachS {
			high++
		}
		if !t.stands(t.timed[low], t.timed[high]) {
			continue
		}
		if standing == nil {
			standing = make([]bool, n-1)
		}
		standing[i] = true
	}
	return standing
}

func (t *track) stands(from, to int) bool {
	a, b := t.samples[from], t.samples[to]
	timeS := b.timeS - a.timeS
	return apartM(a, b) < standingMS*timeS && t.pathM[to]-t.pathM[from] < wanderMS*timeS
}

// setSpeeds gives every sample between the first and the last time the speed
// of its piece.
func (t *track) setSpeeds() {
	for i := range t.samples {
		t.samples[i].speedMS = 0
	}
	var neededS, takenS float64
	for i := 0; i+1 < len(t.timed); i++ {
		from, to := t.timed[i], t.timed[i+1]
		startS, endS := t.samples[from].timeS, t.samples[to].timeS
		v := t.meanSpeedMS((startS+endS)/2, math.Max(speedWindowS, endS-startS))
		if !(v > 0 && v <= fastestMS) {
			continue
		}
		for k := from; k < to; k++ {
			t.samples[k].speedMS = v
		}
		neededS += (t.pathM[to] - t.pathM[from]) / v
		takenS += endS - startS
	}
	if !(neededS > 0 && takenS > 0) {
		return
	}
	for i := range t.samples {
		t.samples[i].speedMS = math.Min(t.samples[i].speedMS*neededS/takenS, fastestMS)
	}
}

// meanSpeedMS returns the mean speed over a window of time, as far as the
// recording goes.
func (t *track) meanSpeedMS(midS, widthS float64) float64 {
	fromS := math.Max(midS-widthS/2, t.samples[t.timed[0]].timeS)
	toS := math.Min(midS+widthS/2, t.samples[t.timed[len(t.timed)-1]].timeS)
	return (t.pathAtM(toS) - t.pathAtM(fromS)) / (toS - fromS)
}

// pathAtM returns the path length at a time within the recording.
func (t *track) pathAtM(timeS float64) float64 {
	k := sort.Search(len(t.timed), func(k int) bool { return t.samples[t.timed[k]].timeS >= timeS })
	if k == 0 {
		return t.pathM[t.timed[0]]
	}
	a, b := t.timed[k-1], t.timed[min(k, len(t.timed)-1)]
	startS, endS := t.samples[a].timeS, t.samples[b].timeS
	if !(endS > startS) {
		return t.pathM[b]
	}
	return t.pathM[a] + (t.pathM[b]-t.pathM[a])*(timeS-startS)/(endS-startS)
}
