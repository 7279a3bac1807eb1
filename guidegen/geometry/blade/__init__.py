"""What a blade needs: order, faults, narrow places, bridges, kerf, spacing of nodes; windows on a drawing."""
