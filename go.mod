module holdfast

go 1.26.0

require github.com/alecthomas/kong v1.17.0

require pgregory.net/rapid v1.3.0

require go.yaml.in/yaml/v4 v4.0.0

require github.com/google/go-cmp v0.7.0

require (
	github.com/bep/imagemeta v1.0.1
	github.com/ebitengine/purego v0.11.3
	github.com/gen2brain/heic v0.4.5
	golang.org/x/image v0.47.0
	gonum.org/v1/gonum v0.17.0
)

require (
	github.com/tetratelabs/wazero v1.9.0 // indirect
	golang.org/x/text v0.43.0 // indirect
)
