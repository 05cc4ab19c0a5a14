package ref

var waterSources = []Source{}
