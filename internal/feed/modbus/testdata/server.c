/* A Modbus server by libmodbus. Arguments: "tcp" and a port of 127.0.0.1, or
   "rtu" and a serial port (19200 baud, even parity). It has unit 1. */
#include <errno.h>
#include <modbus.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static void serve(modbus_t *ctx, modbus_mapping_t *map) {
	uint8_t query[MODBUS_TCP_MAX_ADU_LENGTH];
	for (;;) {
		int n = modbus_receive(ctx, query);
		if (n > 0)
			modbus_reply(ctx, query, n, map);
		else if (n < 0 && errno != EMBBADCRC && errno != ETIMEDOUT)
			return;
	}
}

int main(int argc, char **argv) {
	if (argc != 3)
		return 2;
	modbus_mapping_t *map = modbus_mapping_new(0, 0, 30, 10);
	/* 123.456 in four orders, as numbers: the library's own functions for floats
	   have changed what their names mean between releases (3.1.6 swaps the bytes
	   of each register on a small-endian machine, as mbpoll shows). */
	static const uint16_t floats[8] = {0x42F6, 0xE979, 0xE979, 0x42F6, 0xF642, 0x79E9, 0x79E9, 0xF642};
	memcpy(map->tab_registers, floats, sizeof floats);
	map->tab_registers[10] = 1184;
	map->tab_registers[11] = (uint16_t)-2;
	map->tab_input_registers[0] = 42;
	if (strcmp(argv[1], "tcp") == 0) {
		modbus_t *ctx = modbus_new_tcp("127.0.0.1", atoi(argv[2]));
		int s = modbus_tcp_listen(ctx, 4);
		if (s < 0)
			return 1;
		puts("ready");
		fflush(stdout);
		for (;;) {
			if (modbus_tcp_accept(ctx, &s) < 0)
				return 1;
			serve(ctx, map);
			modbus_close(ctx);
		}
	}
	modbus_t *ctx = modbus_new_rtu(argv[2], 19200, 'E', 8, 1);
	modbus_set_slave(ctx, 1);
	if (modbus_connect(ctx) < 0)
		return 1;
	puts("ready");
	fflush(stdout);
	serve(ctx, map);
	return 1;
}
