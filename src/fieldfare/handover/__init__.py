"""What leaves the house: parcels for mixers, bands, film editors and archives; consent; money; what is kept where."""
