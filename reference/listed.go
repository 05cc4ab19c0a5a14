package reference

// List is the list of notifiable crustacean diseases with its edition.
type List struct {
	Edition  string        `yaml:"edition" json:"edition"`
	From     string        `yaml:"from" json:"from"`
	Diseases []ListedEntry `yaml:"diseases" json:"diseases"`
}

// ListedEntry is one disease on the list.
type ListedEntry struct {
	ID    string `yaml:"id" json:"id"`
	Name  string `yaml:"name" json:"name"`
	Agent string `yaml:"agent" json:"agent"`
	Note  string `yaml:"note" json:"note,omitempty"`
}
