package photo

import "testing"

// benchPlane is a quarter of a 24-megapixel frame in each direction.
func benchPlane() *Plane { return noisePlane(1500, 1000, 0.1, 1) }

func BenchmarkBlur(b *testing.B) {
	p := benchPlane()
	for b.Loop() {
		p.Blur(2.5)
	}
}

func BenchmarkLoG(b *testing.B) {
	p := benchPlane()
	for b.Loop() {
		p.LoG(2.5)
	}
}

func BenchmarkResample(b *testing.B) {
	p := benchPlane()
	for b.Loop() {
		p.Resample(1310, 873)
	}
}
