package holdfast

// Papers are what goes along with animals that come from or go to another
// keeper. Which of it is needed differs by country; all of it may be empty.
type Papers struct {
	// Certificate is the number of the health certificate or of what stands in
	// its place.
	Certificate string `json:"certificate,omitempty"`
	// Invoice is the number of the invoice or delivery note.
	Invoice string `json:"invoice,omitempty"`
	// Transporter is who carried them.
	Transporter string `json:"transporter,omitempty"`
	// Place is where they were loaded, or, of a sale, unloaded; PlaceNumber that
	// establishment's registration or approval number.
	Place       string `json:"place,omitempty"`
	PlaceNumber string `json:"place_number,omitempty"`
	// BorderPost is where they entered the country, PreNotice the reference under
	// which they were announced there.
	BorderPost string `json:"border_post,omitempty"`
	PreNotice  string `json:"pre_notice,omitempty"`
}

// Empty reports whether nothing was written.
func (p *Papers) Empty() bool { return p == nil || *p == Papers{} }

// with returns p with every paper that q names in the place of what p says.
func (p Papers) with(q Papers) Papers {
	for _, x := range [][2]*string{{&p.Certificate, &q.Certificate}, {&p.Invoice, &q.Invoice}, {&p.Transporter, &q.Transporter},
		{&p.Place, &q.Place}, {&p.PlaceNumber, &q.PlaceNumber}, {&p.BorderPost, &q.BorderPost}, {&p.PreNotice, &q.PreNotice}} {
		if *x[1] != "" {
			*x[0] = *x[1]
		}
	}
	return p
}

func (p *Papers) check(c *checker) {
	if p == nil {
		return
	}
	c.text("certificate", p.Certificate, 0, 120)
	c.text("invoice", p.Invoice, 0, 120)
	c.text("transporter", p.Transporter, 0, 120)
	c.text("place", p.Place, 0, 200)
	c.text("place_number", p.PlaceNumber, 0, 120)
	c.text("border_post", p.BorderPost, 0, 120)
	c.text("pre_notice", p.PreNotice, 0, 120)
}

// PapersAdded is papers that came, or were put right, after a delivery or a sale
// was entered. What is empty says nothing of that paper; what is written takes
// the place of what stood.
type PapersAdded struct {
	// Consignment is the delivery they belong to, or Sale the entry of the sale:
	// one of the two. Of a sale the entry names the lot.
	Consignment string `json:"consignment,omitempty"`
	Sale        ID     `json:"sale,omitempty"`
	Papers
}

// Kind implements [Payload].
func (*PapersAdded) Kind() Kind { return KindPapersAdded }

func (p *PapersAdded) check(c *checker) {
	switch {
	case (p.Consignment == "") == (p.Sale == ""):
		c.add("consignment", "Name a delivery or a sale.", "papers belong to one delivery or one sale")
	case p.Sale != "" && !p.Sale.Valid():
		c.add("sale", "Choose the sale on the page of its lot.", "%q is not an entry", p.Sale)
	case p.Sale == "":
		c.name("consignment", p.Consignment)
	}
	if p.Papers.Empty() {
		c.add("certificate", "Write down at least one paper.", "no paper is named")
	}
	p.Papers.check(c)
}

// Who came, in the words of [Visit].
const (
	VisitVeterinarian = "veterinarian"
	VisitAuthority    = "authority"
	VisitLaboratory   = "laboratory"
	VisitOther        = "other"
)

// MostVisited bounds how many lots one visit names; a visit to more is one to
// the whole shop.
const MostVisited = 200

// Visit is somebody who came to look at the animals' health: a veterinarian, the
// authority, a laboratory for samples.
type Visit struct {
	// Visitor is who came, Role what as.
	Visitor string `json:"visitor"`
	Role    string `json:"role"`
	Reason  string `json:"reason,omitempty"`
	// Lots are those it was about; none is the whole shop.
	Lots []string `json:"lots,omitempty"`
	// Result is what was found, Instructions what was ordered or advised.
	Result       string `json:"result"`
	Instructions string `json:"instructions,omitempty"`
	// Samples are what was taken, Laboratory what came back of it.
	Samples    string `json:"samples,omitempty"`
	Laboratory string `json:"laboratory,omitempty"`
}

// Kind implements [Payload].
func (*Visit) Kind() Kind { return KindVisit }

func (p *Visit) check(c *checker) {
	c.text("visitor", p.Visitor, 1, 120)
	c.oneOf("role", p.Role, VisitVeterinarian, VisitAuthority, VisitLaboratory, VisitOther)
	c.text("reason", p.Reason, 0, 500)
	if len(p.Lots) > MostVisited {
		c.add("lots", "Name none: then it is a visit to the whole shop.", "%d lots are too many", len(p.Lots))
		return
	}
	for _, l := range p.Lots {
		c.name("lots", l)
	}
	c.text("result", p.Result, 1, 4000)
	c.text("instructions", p.Instructions, 0, 4000)
	c.text("samples", p.Samples, 0, 1000)
	c.text("laboratory", p.Laboratory, 0, 2000)
}
