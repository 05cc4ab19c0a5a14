package chart_test

import (
	"testing"

	"holdfast/internal/web/chart/sample"
)

func BenchmarkEvidence(b *testing.B) {
	e := sample.Evidence()[0].Evidence
	for b.Loop() {
		_, _ = e.Wide(), e.Tall()
	}
}
