package ref

var clearanceSources = []Source{}
