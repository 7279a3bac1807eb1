"""What a blade needs: order, faults, narrow places, bridges, spacing of nodes."""
