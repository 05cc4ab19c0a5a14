package reference

// Site is a place on the animal or around it.
type Site struct {
	ID   string `yaml:"id" json:"id"`
	Name string `yaml:"name" json:"name"`
	Tell string `yaml:"tell" json:"tell"`
	// Number is its label on the drawing of the animal, 0 for none.
	Number int `yaml:"number" json:"number,omitempty"`
	// On is "animal" or "tank".
	On string `yaml:"on" json:"on"`
}
