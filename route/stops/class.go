package stops

import (
	"math"

	"ampleway/energy/taper"
)

// rate is a charging function with the value of a second of charging.
type rate struct {
	power *taper.Func
	perS  float64
}

// parted tells whether places without power cut the curve in two or more.
func (r rate) parted() bool { return r.power.Stretches() > 1 }

// class is a rate with what is tabled about it: the value of the time from a
// to b is end(b) − start(a).
type class struct {
	rate
	cut    bool           // parted
	low    [cells]float64 // no more than end in each cell of SoC
	high   [cells]float64 // no less than start and end in each cell of SoC
	least  float64        // the lowest reserve of the chargers of the class
	from   float64        // where start was last asked for by startAt
	fromAt float64        // what it was
	versus []window       // against each class of the charger after
}

// apart keeps the stretches of a parted curve from beating each other: it is
// more than any plan's value.
const apart = 1e9

// cells is how finely end and start are bounded without a logarithm.
const cells = 256

func (c *class) start(a float64) float64 {
	t, stretch := c.power.StartS(a)
	return c.perS*t + apart*float64(stretch)
}

// startAt is start, which is kept: most chargers have one reserve.
func (c *class) startAt(a float64) float64 {
	if a != c.from {
		c.from, c.fromAt = a, c.start(a)
	}
	return c.fromAt
}

func (c *class) end(b float64) float64 {
	t, stretch := c.power.EndS(b)
	return c.perS*t + apart*float64(stretch)
}

// cell is the cell of SoC that b is in.
func cell(b float64) int {
	i := int(b * cells)
	if i >= cells {
		return cells - 1
	}
	return max(i, 0)
}

// bound returns a value no higher than end(b), without a logarithm.
func (c *class) bound(b float64) float64 { return c.low[cell(b)] }

// bounds returns values no higher and no lower than end(b).
func (c *class) bounds(b float64) (low, high float64) {
	i := cell(b)
	return c.low[i], c.high[i]
}

func newClass(r rate) class {
	c := class{rate: r, cut: r.parted(), least: math.Inf(1), from: math.NaN()}
	for i := range cells {
		from, to := float64(i)/cells, float64(i+1)/cells
		c.low[i] = c.start(from)
		c.high[i] = math.Max(c.end(to), c.start(to))
	}
	return c
}
