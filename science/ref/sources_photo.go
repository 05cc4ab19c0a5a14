package ref

var photoSources = []Source{}
