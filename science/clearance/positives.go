package clearance

// positives draws which animals showed signs at a look, given what was found: the
// carriers by going back through the recursion, the others by lot. It calls put
// with the index of each such carrier, and returns how many clean animals were
// taken for positive. The table must remember its steps.
func (t *table) positives(k key, alive int, clean chances, put func(carrier int)) (falsely int) {
	total := t.likelihood(alive, clean)
	u := k.unit(0) * total
	j, at := 0, 0
	t.each(alive, clean, func(jj, aa int, p float64) {
		if u > 0 {
			j, at = jj, aa
			u -= p
		}
	})
	m := min(t.found.n, alive) - j
	falsely = t.falsePositives(k, m, at)
	for i := t.carriers; i > 0 && j > 0; i-- {
		before := t.history[(i-1)*len(t.e) : i*len(t.e)]
		in := float64(j) / float64(i)
		u := k.unit(uint64(i)<<8) * t.cellAfter(before, j, at, in, t.cells[i-1])
		if u -= (1 - in) * before[j*t.stride+at]; u <= 0 {
			continue // not in the sample
		}
		from := before[(j-1)*t.stride : j*t.stride]
		none, w, g, b := t.split(t.cells[i-1])
		j--
		z, y, x := at%t.z, at/t.z%t.y, at/t.z/t.y
		if u -= in * none * from[at]; u <= 0 {
			continue // looked at, nothing seen
		}
		put(i - 1)
		if x > 0 {
			if u -= in * w * from[at-t.y*t.z]; u <= 0 {
				at -= t.y * t.z
				continue
			}
		}
		if y > 0 {
			if u -= in * g * from[at-t.z]; u <= 0 {
				at -= t.z
				continue
			}
		}
		switch {
		case t.found.both >= 0 && z > 0 && b > 0:
			at--
		case t.found.both < 0 && x > 0 && y > 0:
			at -= t.y*t.z + t.z
		case x > 0: // only rounding leads here
			at -= t.y * t.z
		case y > 0:
			at -= t.z
		}
	}
	return falsely
}

// cellAfter is the cell that add makes from the table before.
func (t *table) cellAfter(before []float64, j, at int, in float64, c chances) float64 {
	none, w, g, b := t.split(c)
	return (1-in)*before[j*t.stride+at] + in*t.gather(before[(j-1)*t.stride:j*t.stride], at, none, w, g, b)
}

// falsePositives returns how many of m clean animals of the sample showed
// anything, given what cell at leaves to be explained.
func (t *table) falsePositives(k key, m, at int) int {
	z := t.z - 1 - at%t.z
	y := t.y - 1 - at/t.z%t.y
	x := t.x - 1 - at/t.z/t.y
	if t.found.both >= 0 {
		return x + y + z
	}
	// x with worms and y with eggs, drawn apart: of the y, those among the x.
	n := x
	for i := range y {
		if k.unit(uint64(1+i)<<40)*float64(m-i) >= float64(n-i) {
			n++
		}
	}
	return min(n, m)
}
