package signs

import "testing"

func BenchmarkRank(b *testing.B) {
	m := Default()
	a := Answers{"site": {"rostrum"}, "form": {"finger"}, "colour": {"white"}, "animal": {"neocaridina"}}
	for b.Loop() {
		if _, err := m.Rank(a); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkNext(b *testing.B) {
	m := Default()
	a := Answers{"site": {"rostrum"}}
	for b.Loop() {
		if _, err := m.Next(a); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkBuild(b *testing.B) {
	for b.Loop() {
		build(builtin())
	}
}
