package main

import "math"

// spine returns a centripetal Catmull-Rom curve through the knots, sampled
// about every stepM metres, and the index of each knot in it.
func spine(knots []xy, stepM float64) (line []xy, at []int) {
	first := knots[0].plus(knots[0].minus(knots[1]))
	n := len(knots)
	last := knots[n-1].plus(knots[n-1].minus(knots[n-2]))
	k := append(append([]xy{first}, knots...), last)
	for i := 1; i+2 < len(k); i++ {
		at = append(at, len(line))
		steps := int(math.Ceil(k[i].distanceM(k[i+1]) / stepM))
		for j := range steps {
			line = append(line, between(k[i-1], k[i], k[i+1], k[i+2], float64(j)/float64(steps)))
		}
	}
	at = append(at, len(line))
	return append(line, knots[n-1]), at
}

// between evaluates one centripetal Catmull-Rom span at f in 0..1 (the pyramid
// of Barry and Goldman, 1988).
func between(p0, p1, p2, p3 xy, f float64) xy {
	t0 := 0.0
	t1 := t0 + math.Sqrt(p0.distanceM(p1))
	t2 := t1 + math.Sqrt(p1.distanceM(p2))
	t3 := t2 + math.Sqrt(p2.distanceM(p3))
	t := t1 + f*(t2-t1)
	mix := func(a, b xy, ta, tb float64) xy {
		return a.times((tb - t) / (tb - ta)).plus(b.times((t - ta) / (tb - ta)))
	}
	a1, a2, a3 := mix(p0, p1, t0, t1), mix(p1, p2, t1, t2), mix(p2, p3, t2, t3)
	return mix(mix(a1, a2, t0, t2), mix(a2, a3, t1, t3), t1, t2)
}

// lengths returns the distance along the line at each of its points.
func lengths(line []xy) []float64 {
	s := make([]float64, len(line))
	for i := 1; i < len(line); i++ {
		s[i] = s[i-1] + line[i-1].distanceM(line[i])
	}
	return s
}

// direction returns the unit tangent at point i.
func direction(line []xy, i int) xy {
	return line[min(i+1, len(line)-1)].minus(line[max(i-1, 0)]).unit()
}

// turnRad returns the change of heading at point i, always positive.
func turnRad(line []xy, i int) float64 {
	if i <= 0 || i >= len(line)-1 {
		return 0
	}
	a, b := line[i].minus(line[i-1]), line[i+1].minus(line[i])
	return math.Abs(math.Atan2(a.x*b.y-a.y*b.x, a.x*b.x+a.y*b.y))
}
