package intake

import (
	"encoding/json"
	"slices"
	"strings"

	"holdfast/money"
	"holdfast/science/ref"
)

// Field is what a column of a list means to us.
type Field string

// The fields. Ignore marks a column that is read over.
const (
	Ignore   Field = ""
	Strain   Field = "strain"    // required: the name under which the animals are sold
	Species  Field = "species"   // scientific name
	Count    Field = "count"     // animals, required unless bags and per_bag are there
	DOA      Field = "doa"       // of them dead on arrival
	Box      Field = "box"       // number or name of the box
	Bag      Field = "bag"       // number or name of the bag
	Bags     Field = "bags"      // how many bags
	PerBag   Field = "per_bag"   // animals in each bag
	Price    Field = "price"     // for one animal, or for Column.Per animals
	PriceBag Field = "price_bag" // for one bag
	Total    Field = "total"     // for the whole line
	Currency Field = "currency"
	Size     Field = "size" // size or grade
	Sex      Field = "sex"
	Notes    Field = "notes" // any number of columns
)

// Fields lists all fields in the order in which a page offers them.
func Fields() []Field {
	return []Field{Strain, Species, Count, DOA, Box, Bag, Bags, PerBag, Price, PriceBag, Total, Currency, Size, Sex, Notes}
}

func (f Field) money() bool { return f == Price || f == PriceBag || f == Total }

// MappingVersion is the version of the JSON form of Mapping.
const MappingVersion = 1

// Mapping says which column means what. It is keyed by the normal form of the
// column's name, so that it can be kept per supplier and fits the supplier's
// next list even when columns have moved. The zero value maps nothing.
type Mapping struct {
	Version int               `json:"version"`
	Columns map[string]Column `json:"columns"`
	// Currency (ISO 4217) of amounts that name none.
	Currency string `json:"currency,omitempty"`
	// Decimal is the list's decimal mark, "." or ","; empty when unknown, and
	// then an amount such as 1.234 is a problem instead of a guess.
	Decimal string `json:"decimal,omitempty"`
	// SkipEmpty leaves out rows whose count is empty or 0, as in an order form
	// that lists everything the supplier has.
	SkipEmpty bool `json:"skip_empty,omitempty"`
}

// Column is the meaning of one column.
type Column struct {
	Field Field `json:"field"`
	// Per is how many animals a price is for; 0 means 1.
	Per int `json:"per,omitempty"`
	// Currency (ISO 4217) that the column's name tells.
	Currency string `json:"currency,omitempty"`
	// Down reads an empty cell as the one above it.
	Down bool `json:"down,omitempty"`
}

// Check returns an *ref.InputError for a mapping that cannot be meant: an
// unknown field, currency or decimal mark, one field twice.
func (m Mapping) Check() error {
	if m.Version != 0 && m.Version != MappingVersion {
		return ref.Inputf("mapping", "Map the columns anew.", "the mapping has version %d, this program reads %d", m.Version, MappingVersion)
	}
	if m.Decimal != "" && m.Decimal != "." && m.Decimal != "," {
		return ref.Inputf("decimal", "Choose point or comma.", "%q is no decimal mark", m.Decimal)
	}
	if _, ok := money.Exponent(m.Currency); !ok && m.Currency != "" {
		return ref.Inputf("currency", "Give the three letters of the currency, such as EUR.", "%q is not a currency", m.Currency)
	}
	keys := make([]string, 0, len(m.Columns))
	for k := range m.Columns {
		keys = append(keys, k)
	}
	slices.Sort(keys)
	at := map[Field]string{}
	for _, k := range keys {
		c := m.Columns[k]
		if c.Field != Ignore && !slices.Contains(Fields(), c.Field) {
			return ref.Inputf("mapping", "Choose one of the fields offered.", "column %q is mapped to %q", k, c.Field)
		}
		if other, twice := at[c.Field]; twice && c.Field != Ignore && c.Field != Notes {
			return ref.Inputf("mapping", "Choose one of the two.", "columns %q and %q are both mapped to %s", other, k, c.Field)
		}
		if _, ok := money.Exponent(c.Currency); !ok && c.Currency != "" {
			return ref.Inputf("mapping", "Give the three letters of the currency, such as EUR.", "column %q has the currency %q", k, c.Currency)
		}
		if c.Per < 0 || c.Per > 10000 {
			return ref.Inputf("mapping", "Write a whole number from 1 to 10,000.", "the price in column %q is for %d animals", k, c.Per)
		}
		at[c.Field] = k
	}
	return nil
}

// ParseMapping reads the JSON form of a mapping and checks it.
func ParseMapping(data []byte) (Mapping, error) {
	var m Mapping
	dec := json.NewDecoder(strings.NewReader(string(data)))
	dec.DisallowUnknownFields()
	if err := dec.Decode(&m); err != nil {
		return Mapping{}, ref.Inputf("mapping", "Map the columns anew.", "the mapping cannot be read")
	}
	return m, m.Check()
}

// Fit makes the mapping for a list of a supplier whose earlier mapping is
// remembered: columns with the same name keep their meaning, new ones are
// guessed for the fields that are still free. It returns the remembered
// columns that this list lacks, in alphabetical order.
func Fit(t *Table, remembered Mapping) (m Mapping, missing []string) {
	fitted, _, missing := fit(t, remembered)
	return fitted, missing
}

func fit(t *Table, remembered Mapping) (Mapping, guessed, []string) {
	keys := t.keys()
	g := guessWith(t, func(col int) (Column, bool) {
		c, ok := remembered.Columns[keys[col]]
		return c, ok
	})
	m := g.mapping()
	// What this list itself says stands above what the last one said.
	if m.Currency == "" {
		m.Currency = remembered.Currency
	}
	if m.Decimal == "" {
		m.Decimal = remembered.Decimal
	}
	m.SkipEmpty = remembered.SkipEmpty
	var missing []string
	for k, c := range remembered.Columns {
		if c.Field != Ignore && !slices.Contains(keys, k) {
			missing = append(missing, k)
		}
	}
	slices.Sort(missing)
	return m, g, missing
}
