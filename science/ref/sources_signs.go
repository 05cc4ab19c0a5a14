package ref

var signsSources = []Source{}
