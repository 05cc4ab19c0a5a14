package photo

import (
	"embed"
	"encoding/json"
	"sync"
)

// Models are the last words on candidates. A nil one stands for the model that
// comes with the program; a shop's own verdicts may refit them (FitLogistic).
type Models struct {
	Eye, Rows, Threads, Tufts *Logistic
	// Sharp is always the built-in one.
	Sharp *Logistic
}

//go:embed model/*.json
var modelFiles embed.FS

// builtIn reads the models that come with the program. They were fitted by
// bench/photo/fit on tuning phantoms.
var builtIn = sync.OnceValue(func() Models {
	var m Models
	for name, into := range map[string]**Logistic{
		"eye": &m.Eye, "rows": &m.Rows, "threads": &m.Threads, "tufts": &m.Tufts, "sharp": &m.Sharp,
	} {
		b, err := modelFiles.ReadFile("model/" + name + ".json")
		if err == nil {
			err = json.Unmarshal(b, into)
		}
		if err != nil {
			panic("photo: model " + name + ": " + err.Error()) // embedded: a fault of the build
		}
	}
	return m
})

// BuiltIn returns the models that come with the program. They are shared: do
// not change them.
func BuiltIn() Models { return builtIn() }

// orBuiltIn fills what is nil.
func (m Models) orBuiltIn() Models {
	b := builtIn()
	for _, p := range []struct{ have, want **Logistic }{
		{&m.Eye, &b.Eye}, {&m.Rows, &b.Rows}, {&m.Threads, &b.Threads}, {&m.Tufts, &b.Tufts},
	} {
		if *p.have == nil {
			*p.have = *p.want
		}
	}
	return m
}

// FeaturesOf names the measures of a mark of kind k, in the order of
// Mark.Features.
func FeaturesOf(k Kind) []string {
	switch k {
	case Dots:
		return rowFeatures
	case Filament:
		return threadFeatures
	case TuftKind:
		return tuftFeatures
	}
	return nil
}
