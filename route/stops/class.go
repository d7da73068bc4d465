package stops

import (
	"math"

	"ampleway/energy/taper"
)

// class is one charging function with one price: the value of charging from a
// to b is end(b) − start(a).
type class struct {
	key    classKey
	parted bool           // places without power cut the curve in two or more
	low    [cells]float64 // no more than end in each cell of SoC
	high   [cells]float64 // no less than start in each cell of SoC
	least  float64        // the lowest reserve of the chargers of the class
	versus []window       // against each class of the charger after
}

type classKey struct {
	power  *taper.Func
	perS   float64 // value of a second of charging
	perSoC float64 // value of the energy that fills the battery
}

// apart keeps the stretches of a parted curve from beating each other: it is
// more than any plan's value.
const apart = 1e9

// cells is how finely end and start are bounded without a logarithm.
const cells = 128

func (c *class) start(a float64) float64 {
	t, stretch := c.key.power.StartS(a)
	return c.key.perS*t + c.key.perSoC*a + apart*float64(stretch)
}

func (c *class) end(b float64) float64 {
	t, stretch := c.key.power.EndS(b)
	return c.key.perS*t + c.key.perSoC*b + apart*float64(stretch)
}

func cell(soc float64) int {
	i := int(soc * cells)
	if i >= cells {
		return cells - 1
	}
	if i < 0 {
		return 0
	}
	return i
}

func newClass(key classKey) class {
	c := class{key: key, parted: key.power.Stretches() > 1, least: math.Inf(1)}
	for i := range cells {
		from, to := float64(i)/cells, float64(i+1)/cells
		c.low[i] = math.Min(c.start(from), c.end(to))
		c.high[i] = math.Max(c.end(to), c.start(to))
	}
	return c
}

// bound returns a value no higher than end(b), without a logarithm.
func (c *class) bound(b float64) float64 { return c.low[cell(b)] }
