package ref

var freedomSources = []Source{}
