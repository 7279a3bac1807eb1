"""For cutting machines and print shops: what leaves the house to be made by others."""
