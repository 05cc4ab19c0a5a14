module holdfast

go 1.26

require github.com/alecthomas/kong v1.17.0

require pgregory.net/rapid v1.3.0

require go.yaml.in/yaml/v4 v4.0.0

require github.com/google/go-cmp v0.7.0

require gonum.org/v1/gonum v0.17.0
