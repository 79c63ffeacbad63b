# People, devices, first run, adding machines.
