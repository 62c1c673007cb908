"""The invented hospital network: its register, and two years of visits to its scales, for the demonstration.

Everything here is made up: no hospital, person, maker or laboratory of these names is meant. The register comes from
`network`, the visits from `history`; both hand out wire JSON and write nothing themselves.
"""
