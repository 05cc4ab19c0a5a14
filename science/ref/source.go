package ref

// Source is one publication, standard, dataset or general reference library.
// Each is written once, in the file of the science that leans on it, and used
// elsewhere by its Key.
type Source struct {
	// Key is short and stable: first author or body, and year, as "martin2007".
	Key string
	// Citation is the full reference in one line.
	Citation string
	// DOI is the identifier without a resolver address; empty if there is none.
	DOI string
	// Seen says how far the source was read: "full", "abstract", "output" for a
	// library that was run, or "memory" when nobody here has it open.
	Seen string
}

// Sources returns every source, grouped by the science that declares it.
func Sources() []Source {
	var all []Source
	for _, group := range [][]Source{
		freedomSources,
		clearanceSources,
		waterSources,
		photoSources,
		signsSources,
	} {
		all = append(all, group...)
	}
	return all
}

// Lookup returns the source with the given key.
func Lookup(key string) (Source, bool) {
	for _, s := range Sources() {
		if s.Key == key {
			return s, true
		}
	}
	return Source{}, false
}
